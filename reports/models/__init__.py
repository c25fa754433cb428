"""Results, findings, exposure groups, reports."""

from reports.models import ranges  # noqa: F401 - binds the columns
from reports.models.departures import AgreementDeparture
from reports.models.exposure import ExposureGroup, ExposureSample
from reports.models.findings import Evaluation, Finding, Result
from reports.models.report import Report

__all__ = ["AgreementDeparture", "Evaluation", "ExposureGroup", "ExposureSample", "Finding", "Report", "Result"]
