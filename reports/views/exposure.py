"""Groups of similar exposure of a campaign."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from campaigns import access
from campaigns.links import trail, trail_above
from campaigns.models import Campaign
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import AddPage, DeletePage, EditPage, HistoryPage, RowPage
from reports.forms import ExposureGroupForm
from reports.models import ExposureGroup
from reports.pages import exposure_group as panel

COLUMNS = [{"label": "Group"}, {"label": "Held against"}, {"label": "Samples", "num": True}, {"label": "Kind"}]


class ExposureGroups(RowPage):
    """The groups of a campaign."""

    model = Campaign
    template_name = "reports/exposure_groups.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        groups = access.visible(self.person, ExposureGroup).filter(campaign=campaign)
        rows = groups.select_related("criterion__limit").annotate(sample_count=Count("samples"))
        may_add = access.may_add(self.person, ExposureGroup, organisation_id_of(campaign))
        add = {"label": "Add a group", "url": reverse("exposure-group-add", args=[campaign.key]), "primary": True}
        return self.show(
            title="Groups of similar exposure",
            subtitle="People whose exposures are alike, judged together from several shifts.",
            crumbs=trail(campaign),
            campaign=campaign,
            columns=COLUMNS,
            rows=[_row(group) for group in rows],
            actions=[add] if may_add else [],
            cautions=panel.CAUTIONS,
        )


def _row(group: Any) -> list[Any]:
    return [
        {"text": group.name, "url": reverse("exposure-group", args=[group.key])},
        str(group.criterion),
        str(group.sample_count),
        group.get_sampling_display(),
    ]


class ExposureGroupPage(RowPage):
    model = ExposureGroup
    template_name = "reports/exposure_group.html"
    related: ClassVar[tuple[str, ...]] = ("campaign__site", "criterion__limit")

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        group = self.found
        told = panel.told(group)
        return self.show(
            title=group.name,
            kicker="Group of similar exposure",
            subtitle=group.likeness,
            crumbs=self.crumbs(),
            group=group,
            told=told,
            columns=panel.RESULTS,
            cautions=panel.CAUTIONS,
            actions=self.deeds(),
        )

    def crumbs(self) -> list[tuple[str, str]]:
        campaign = self.found.campaign
        return [*trail_above(self.found), ("Groups", reverse("exposure-groups", args=[campaign.key]))]


class ExposureGroupAdd(AddPage):
    model, form_class = ExposureGroup, ExposureGroupForm
    parent, parent_field = Campaign, "campaign"
    cautions = panel.CAUTIONS


class ExposureGroupEdit(EditPage):
    model, form_class = ExposureGroup, ExposureGroupForm
    cautions = panel.CAUTIONS


class ExposureGroupDelete(DeletePage):
    model = ExposureGroup


class ExposureGroupHistory(HistoryPage):
    model = ExposureGroup
