"""Results, findings, exposure groups, reports."""

from reports.models import ranges  # noqa: F401 - binds the columns
from reports.models.exposure import ExposureGroup, ExposureSample
from reports.models.findings import Evaluation, Finding, Result
from reports.models.report import Report

__all__ = ["Evaluation", "ExposureGroup", "ExposureSample", "Finding", "Report", "Result"]
