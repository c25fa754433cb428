"""The jobs of judging and telling."""

from __future__ import annotations

from campaigns.enqueue import Outcome, handles
from campaigns.models import Job
from reports.services.evaluate import evaluate_campaign
from reports.services.release import make_pdf
from reports.triggers import EVALUATE

MAKE_PDF = "make-pdf"


@handles(EVALUATE, "Judge the campaign")
def evaluate(job: Job) -> Outcome:
    return evaluate_campaign(job)


@handles(MAKE_PDF, "Set the report")
def pdf(job: Job) -> Outcome:
    return make_pdf(job)
