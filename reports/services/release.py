"""Signing and releasing a report, withdrawing one, and setting its PDF.

A release freezes what the campaign says at that moment. Nothing in it changes afterwards: a correction is a new
revision, which supersedes the former one and says what is different.
"""

from __future__ import annotations

import hashlib

from django.core.exceptions import ValidationError
from django.core.files import File
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.http import Http404
from django.utils import timezone

from campaigns import access
from campaigns.enqueue import Outcome, enqueue
from campaigns.models import Campaign, Job, User
from campaigns.services.digests import sha256_of
from methods.wording.numbers import day_in_full, time_of_day
from reports.content.canonical import digest
from reports.content.changes import changes
from reports.content.record import ReportContent, Signature, SignedContent
from reports.content.stored import digest_of, to_store
from reports.job_kinds import MAKE_PDF
from reports.models import Evaluation, Report
from reports.models.report import pdf_path
from reports.pdf import render
from reports.services.freeze import freeze
from reports.services.readiness import Item, Preparation, differs, in_force, prepare

__all__ = ["NotReleased", "Preparation", "ask_for_pdf", "make_pdf", "prepare", "sign_and_release", "withdraw"]


NO_NAME = "Your account has no name, and a report is signed with one. It is entered under People."


NO_REASON = "Say why it is withdrawn. The client reads it."


class NotReleased(Exception):
    """A release that was refused. ``items`` say why, in words for people."""

    def __init__(self, *items: Item) -> None:
        super().__init__(" ".join(item.words for item in items))
        self.items = items


def sign_and_release(campaign: Campaign, by: User, qualification: str = "", *, seen: str = "") -> Report:
    """Freeze the campaign's findings as its next revision, signed by ``by`` under the name of their account, and
    release it to the client that the site has now. ``qualification``: what the person states behind the name.

    ``seen``: digest of the content the person was shown; anything else is not released. The revision before stays
    readable and is marked as superseded. The PDF is set by a job after the commit.
    Raises Http404 for people who may not release, NotReleased with the reasons otherwise.
    """
    if not access.may_add(by, Report, campaign.site.organisation_id):
        raise Http404
    if not by.get_full_name():
        raise NotReleased(Item("no-name", NO_NAME))
    try:
        with transaction.atomic():
            return _release(_locked(campaign), by, qualification.strip(), seen)
    except IntegrityError:  # UNIQUE (campaign, revision): two people at the same moment
        raise NotReleased(Item("raced", "Somebody else has just released this campaign. Look at it first.")) from None


def _locked(campaign: Campaign) -> Campaign:
    """The campaign with what its report needs. Until the commit nobody else releases it and nobody judges it anew."""
    Evaluation.objects.select_for_update().filter(campaign=campaign).first()
    rows = Campaign.objects.select_for_update(of=("self",)).select_related("site__organisation", "site__client")
    return rows.get(pk=campaign.pk)


def _release(campaign: Campaign, by: User, qualification: str, seen: str) -> Report:
    content = freeze(campaign)
    # Asked after freezing: whatever changed an input meanwhile has queued a judging by now.
    if blocking := prepare(campaign).blocking:
        raise NotReleased(*blocking)
    if seen and digest_of(content) != seen:
        raise NotReleased(
            Item("changed", "Something has changed since you opened this page. Look at it again, then sign.")
        )
    current = in_force(campaign)
    if current is not None and not differs(current, content):
        raise NotReleased(Item("same", f"Revision {current.revision} already says exactly this."))
    report = _signed(campaign, content, by, qualification)
    ask_for_pdf(report, by)
    return report


def _signed(campaign: Campaign, content: ReportContent, by: User, qualification: str) -> Report:
    former = campaign.reports.order_by("-revision").first()
    number = (campaign.reports.aggregate(last=Max("revision"))["last"] or 0) + 1
    now = timezone.now()
    local = now.astimezone(campaign.site.zone_info)
    # What a report said that was released to somebody else is not told to this client.
    said = changes(former.record, content) if former and former.client_id == campaign.site.client_id else []
    name = by.get_full_name()
    signed = SignedContent.of(
        content,
        revision=number,
        supersedes=former.revision if former else None,
        changes=tuple(said),
        signature=Signature(
            name=f"{name}, {qualification}" if qualification else name,
            organisation=content.organisation,
            signed_at=now.isoformat(timespec="seconds"),
            day=day_in_full(local),
            time=time_of_day(local),
        ),
    )
    stored = to_store(signed)
    return Report.objects.create(
        campaign=campaign, client=campaign.site.client, revision=number, content=stored, digest=digest(stored),
        changes="\n".join(said), signed_by=by, signed_name=name, signed_qualification=qualification, signed_at=now,
        released_at=now,
    )  # fmt: skip


def withdraw(report: Report, by: User, reason: str) -> bool:
    """Take a released revision back: people of the client read only that it was, when and why. False if it was
    withdrawn already.

    Raises Http404 for people who may not, ValidationError without a reason.
    """
    if not access.may_change(by, report):
        raise Http404
    if not reason.strip():
        raise ValidationError({"reason": NO_REASON})
    with transaction.atomic():
        row = Report.objects.select_for_update().get(pk=report.pk)
        if not row.released:
            return False
        row.withdrawn_at = timezone.now()
        row.withdrawal_reason = reason.strip()
        row.save(update_fields=["withdrawn_at", "withdrawal_reason"])  # not update(): the history hears of saves
    report.withdrawn_at, report.withdrawal_reason = row.withdrawn_at, row.withdrawal_reason
    return True


# --- the PDF ----------------------------------------------------------------------------------------------------------


def ask_for_pdf(report: Report, by: User | None) -> Job:
    return enqueue(MAKE_PDF, report.pk, organisation_id=report.campaign.site.organisation_id, owner=by)


def make_pdf(job: Job) -> Outcome:
    """The job "make-pdf": set the report from its content, once. A second run finds it set."""
    report = Report.objects.get(pk=job.subject_id)
    if pdf_of(report) is not None:
        return _done(report)
    if digest(report.content) != report.digest:
        return Job.State.FAILED, "altered", "The stored content is not what was signed: its digest differs."
    document = render(report.record)  # outside the transaction: it takes seconds
    with transaction.atomic():
        row = Report.objects.select_for_update().get(pk=report.pk)
        job.beat()  # no longer ours: nothing below is kept
        if pdf_of(row) is None:
            _store(row, document)
    return _done(row)


def pdf_of(report: Report) -> File[bytes] | None:
    """The PDF, open at its beginning; None while there is none, and where it is gone or another than was set."""
    if not report.pdf:
        return None
    try:
        stored: File[bytes] = report.pdf.storage.open(str(report.pdf.name), "rb")
    except FileNotFoundError:
        return None
    if report.pdf_sha256 and sha256_of(stored) != report.pdf_sha256:
        stored.close()
        return None
    return stored


def _store(report: Report, document: bytes) -> None:
    storage, path = report.pdf.storage, pdf_path(report, "")
    if storage.exists(path):  # left by a worker that was killed before its commit: no row names it
        storage.delete(path)
    report.pdf.save(path, ContentFile(document), save=False)
    report.pdf_sha256 = hashlib.sha256(document).hexdigest()
    report.save(update_fields=["pdf", "pdf_sha256"])


def _done(report: Report) -> Outcome:
    return Job.State.DONE, "set", f"Revision {report.revision} is set, {report.pdf.size / 1024:,.0f} kB."
