"""Limits, criteria, results, findings, reports."""

from reports.models.findings import Evaluation, Finding, Result
from reports.models.limits import Criterion, Limit, LimitCheck
from reports.models.report import Report

__all__ = ["Criterion", "Evaluation", "Finding", "Limit", "LimitCheck", "Report", "Result"]
