"""Criteria, results, findings and reports: what was judged against what, and what was said."""

from __future__ import annotations

from django.db.models import QuerySet

from campaigns.api.base import ReadOnly
from campaigns.api.params import by_choice, by_key
from campaigns.models import Criterion, TokenScope
from methods.quantities.substances import SUBSTANCES
from methods.verdicts.words import Verdict
from reports.api import serializers
from reports.models import Finding, Report, Result


class CriterionViewSet(ReadOnly[Criterion]):
    """Criteria: the limits chosen for a campaign."""

    model = Criterion
    scope = TokenScope.FINDINGS
    serializer_class = serializers.CriterionSerializer
    related = ("campaign", "limit")
    filters = {
        "campaign": by_key("campaign", "Criteria of this campaign."),
        "parameter": by_choice("limit__parameter", SUBSTANCES, "Criteria for this parameter."),
    }


class ResultViewSet(ReadOnly[Result]):
    """Results: one statistic at one point in the terms of one criterion, with its uncertainty."""

    model = Result
    scope = TokenScope.FINDINGS
    serializer_class = serializers.ResultSerializer
    related = ("criterion__campaign", "deployment", "point")
    filters = {
        "campaign": by_key("criterion__campaign", "Results of this campaign."),
        "criterion": by_key("criterion", "Results against this criterion."),
        "deployment": by_key("deployment", "Results of this deployment."),
        "point": by_key("point", "Results at this point."),
        "verdict": by_choice("verdict", list(Verdict), "Results with this verdict."),
    }


class FindingViewSet(ReadOnly[Finding]):
    """Findings: a zone against a criterion. A verdict is not a statement of safety."""

    model = Finding
    scope = TokenScope.FINDINGS
    serializer_class = serializers.FindingSerializer
    related = ("criterion__campaign", "criterion__limit", "zone", "governing__deployment", "governing__point")
    filters = {
        "campaign": by_key("criterion__campaign", "Findings of this campaign."),
        "criterion": by_key("criterion", "Findings against this criterion."),
        "zone": by_key("zone", "Findings about this zone."),
        "verdict": by_choice("verdict", list(Verdict), "Findings with this verdict."),
    }


class ReportViewSet(ReadOnly[Report]):
    """Reports: each revision that was signed, with the digest of everything it says."""

    model = Report
    scope = TokenScope.FINDINGS
    serializer_class = serializers.ReportSerializer
    related = ("campaign",)
    filters = {"campaign": by_key("campaign", "Reports on this campaign.")}

    def get_queryset(self) -> QuerySet[Report]:
        return super().get_queryset().defer("content")  # the whole report, which is not shown here
