"""What has been released to a person: the newest revision of each campaign, and which were taken back."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import QuerySet
from django.urls import reverse

from campaigns import access
from campaigns.models import User
from methods.wording.numbers import day_in_full
from reports.models import Report
from reports.queries.report_heads import ReportHead, heads_of
from reports.queries.withdrawn import withdrawn_from


@dataclass(frozen=True, slots=True)
class ListedReport:
    """head: of the revision that can be read, None where there is none. site, campaign: as they are called now, for
    that case. withdrawn: that a later one was taken back, when and why, "" where none was."""

    head: ReportHead | None
    url: str
    site: str
    campaign: str
    withdrawn: str


def withdrawal_words(report: Report) -> str:
    """``Revision 2 was withdrawn on 30 November 2026: the wrong meter.``"""
    assert report.withdrawn_at
    day = day_in_full(report.withdrawn_at.astimezone(report.campaign.site.zone_info))
    reason = f": {report.withdrawal_reason}" if report.withdrawal_reason else ""
    return f"Revision {report.revision} was withdrawn on {day}{reason}{'' if reason.endswith('.') else '.'}"


def listed(person: User) -> list[ListedReport]:
    """The latest release first, then campaigns of which nothing is left. Four queries at most."""
    rows = access.visible(person, Report).filter(released_at__isnull=False, withdrawn_at__isnull=True)
    newest: dict[int, tuple[int, int]] = {}
    for pk, campaign, revision in rows.order_by("-released_at", "-revision").values_list(
        "pk", "campaign_id", "revision"
    ):
        newest.setdefault(campaign, (pk, revision))
    gone: dict[int, Report] = {}
    for report in withdrawn_from(person).select_related("campaign__site").order_by("-withdrawn_at", "-revision"):
        if report.campaign_id not in newest or report.revision > newest[report.campaign_id][1]:
            gone.setdefault(report.campaign_id, report)
    heads = heads_of(rows.filter(pk__in=[pk for pk, _ in newest.values()]))
    there = [_standing(heads[pk], gone.get(campaign)) for campaign, (pk, _) in newest.items()]
    return [*there, *(_nothing_left(report) for campaign, report in gone.items() if campaign not in newest)]


def _standing(head: ReportHead, later: Report | None) -> ListedReport:
    url = reverse("released-report", args=[head.key])
    return ListedReport(head, url, head.site, head.campaign, withdrawal_words(later) if later else "")


def _nothing_left(report: Report) -> ListedReport:
    url = reverse("released-report", args=[report.key])
    return ListedReport(None, url, report.campaign.site.name, report.campaign.name, withdrawal_words(report))


def valid_instead(person: User, report: Report) -> QuerySet[Report]:
    """A newer revision of the same campaign that holds, if there is one."""
    rows = access.visible(person, Report).filter(campaign=report.campaign_id, revision__gt=report.revision)
    return rows.filter(released_at__isnull=False, withdrawn_at__isnull=True).defer("content").order_by("-revision")
