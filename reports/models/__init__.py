"""Limits, criteria, results, findings, exposure groups, reports."""

from reports.models.exposure import ExposureGroup, ExposureSample
from reports.models.findings import Evaluation, Finding, Result
from reports.models.limits import Criterion, Limit, LimitCheck
from reports.models.report import Report

__all__ = [
    "Criterion",
    "Evaluation",
    "ExposureGroup",
    "ExposureSample",
    "Finding",
    "Limit",
    "LimitCheck",
    "Report",
    "Result",
]
