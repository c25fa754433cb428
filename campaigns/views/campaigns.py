"""Campaigns, their plan, and where instruments stood."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from campaigns import access
from campaigns.forms import campaigns as forms
from campaigns.links import address, anchor, is_key, trail
from campaigns.models import Campaign, Deployment, PlannedPoint, SamplingPoint, Site
from campaigns.services import deployments
from campaigns.services.alert_levels import level_words
from campaigns.services.ownership import organisation_id_of
from campaigns.services.planned_points import grouped
from campaigns.views.pages import AddPage, DeletePage, EditPage, HistoryPage, ListPage, RowPage
from methods.quantities.moments import local_text
from methods.wording.cautions import level_cautions

#: What has to be thought of while points and instruments are chosen.
PLAN_CAUTIONS = (
    "Meters that show their reading at once are for screening, unless the method is validated for the purpose.",
    "Alcohols, other aldehydes and jumps in humidity can pass for formaldehyde: note what was used in the room.",
    "What is found holds for the places, times and conditions measured: plan airing, heating and use as well.",
    "Exposure at work is judged from samples worn by the person and by the law that applies, not from room points.",
)
DEPLOYMENT_CAUTION = (
    "Formaldehyde irritates and can cause cancer. Where eyes or throat sting: leave, air, and follow the emergency "
    "rules of the house.",
)


def caution_of_levels(campaign: Campaign) -> list[str]:
    """Alert levels are named where some are set."""
    return level_cautions(level_words(campaign))


class Campaigns(ListPage):
    model = Campaign
    title = "Campaigns"
    caption = "One question asked of one site, the latest first."
    columns = [
        {"label": "Campaign"},
        {"label": "Site"},
        {"label": "Client"},
        {"label": "From"},
        {"label": "To"},
        {"label": "Points", "num": True},
        {"label": "Deployments", "num": True},
    ]

    def rows(self) -> Any:
        counted = (
            super()
            .rows()
            .annotate(
                planned_count=Count("planned_points", distinct=True),
                deployment_count=Count("deployments", distinct=True),
            )
        )
        return counted.select_related("site__client")

    def cells(self, row: Any) -> list[Any]:
        return [
            {"text": row.name, "url": address(row)},
            {"text": row.site.name, "url": address(row.site)},
            row.site.client or "–",
            f"{row.starts_on:%Y-%m-%d}",
            f"{row.ends_on:%Y-%m-%d}",
            {"text": str(row.planned_count), "url": reverse("plan", args=[row.key])},
            {"text": str(row.deployment_count), "url": reverse("deployments", args=[row.key])},
        ]

    def actions(self) -> list[dict[str, Any]]:
        """A campaign is asked of a site, so it is added there."""
        return []

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        has_sites = access.visible(self.person, Site).exists()
        kwargs["empty_heading"] = "No campaigns yet"
        if has_sites:
            kwargs["empty_text"] = "A campaign asks one question of one site. Open the site and plan it there."
            kwargs["empty_actions"] = [{"label": "Go to the sites", "url": reverse("sites"), "primary": True}]
        else:
            kwargs["empty_text"] = "A campaign asks one question of one site. Enter the site first, with its rooms."
            kwargs["empty_actions"] = [{"label": "Add a site", "url": reverse("site-add"), "primary": True}]
            if not access.organisations_of(self.person, access.CONSULTANTS):
                kwargs["empty_actions"] = []
        return super().get_context_data(**kwargs)


class CampaignAdd(AddPage):
    model, form_class = Campaign, forms.CampaignForm
    parent, parent_field = Site, "site"

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: campaign “{row}”. Choose the points to measure.")
        return redirect("plan", key=row.key)


class CampaignEdit(EditPage):
    model, form_class = Campaign, forms.CampaignForm


class CampaignDelete(DeletePage):
    model = Campaign


class CampaignHistory(HistoryPage):
    model = Campaign


class PlanPage(RowPage):
    """Which points are to be measured. Staff see it; who may change the campaign chooses."""

    model = Campaign
    template_name = "campaigns/plan.html"
    related = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        planned = {str(pk) for pk in self.found.planned_points.values_list("point_id", flat=True)}
        return self.ask(forms.PlanForm(campaign=self.found, person=self.person), planned)

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not access.may_add(self.person, PlannedPoint, organisation_id_of(self.found)):
            raise Http404
        form = forms.PlanForm(request.POST, campaign=self.found, person=self.person)
        changed = form.stored()
        if changed is None:
            return self.ask(form, set(request.POST.getlist("points")), status=422)
        messages.success(request, f"Saved: {changed[0]} added to the plan, {changed[1]} taken out.")
        return redirect("plan", key=self.found.key)

    def ask(self, form: forms.PlanForm, chosen: set[str], status: int = 200) -> HttpResponse:
        campaign = self.found
        places = dict(campaign.planned_points.values_list("point_id", "position"))
        groups = [
            (group, [(point, str(point.pk) in chosen, places.get(point.pk)) for point in group.points])
            for group in grouped(forms.points_of(campaign, self.person))
        ]
        return self.show(
            status=status,
            title="Plan",
            subtitle="The points this campaign means to measure. What is planned and not measured is shown as missing.",
            crumbs=trail(campaign),
            campaign=campaign,
            form=form,
            groups=groups,
            chosen_count=len(chosen),
            cautions=[*PLAN_CAUTIONS, *caution_of_levels(campaign)],
            may_change=self.may_change,
            actions=self.links(campaign),
        )

    def links(self, campaign: Campaign) -> list[dict[str, Any]]:
        return [
            {"label": "Criteria", "url": reverse("criteria", args=[campaign.key])},
            {"label": "Deployments", "url": reverse("deployments", args=[campaign.key])},
            *([{"label": "Change campaign", "url": reverse("campaign-edit", args=[campaign.key])}] * self.may_change),
        ]


class Deployments(RowPage):
    """Where each instrument stood, and from when to when, on the clock of the site."""

    model = Campaign
    template_name = "campaigns/deployments.html"
    related = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign, zone = self.found, self.found.site.zone_info
        rows = access.visible(self.person, Deployment).filter(campaign=campaign)
        rows = rows.select_related("campaign__site", "instrument", "point__room__zone")
        measured = set(rows.values_list("point_id", flat=True))
        planned = campaign.planned_points.exclude(point__in=measured).select_related("point__room__zone")
        return self.show(
            title="Deployments",
            subtitle=f"One instrument at one point from start to end. Times are on the clock of the site, {zone.key}.",
            crumbs=trail(campaign),
            campaign=campaign,
            deployments=[(d, anchor(d), local_text(d.starts_at, zone), until(d)) for d in rows],
            missing=[p.point for p in planned],
            may_change=access.may_add(self.person, Deployment, campaign.site.organisation_id),
            may_remove=access.may_remove(self.person, Deployment, campaign.site.organisation_id),
            actions=self.links(campaign),
        )

    def links(self, campaign: Campaign) -> list[dict[str, Any]]:
        return [
            {"label": "Add a deployment", "url": reverse("deployment-add", args=[campaign.key]), "primary": True},
            {"label": "Timeline", "url": reverse("timeline", args=[campaign.key])},
            {"label": "Plan", "url": reverse("plan", args=[campaign.key])},
            {"label": "Uploads", "url": reverse("uploads", args=[campaign.key])},
        ]


def until(deployment: Deployment) -> str:
    """The end on the clock of the site, or that there is none yet."""
    if deployment.ends_at is None:
        return "still there"
    return local_text(deployment.ends_at, deployment.campaign.site.zone_info)


class DeploymentAdd(AddPage):
    model, form_class = Deployment, forms.DeploymentForm
    parent, parent_field = Campaign, "campaign"

    def cautions_beside(self, row: Any) -> list[str]:
        return [*DEPLOYMENT_CAUTION, *caution_of_levels(row.campaign)]

    def row(self) -> Any:
        deployment = super().row()
        deployment.starts_at = timezone.now().replace(second=0, microsecond=0)
        asked = self.request.GET.get("point", "")
        points = access.visible(self.person, SamplingPoint).filter(site=self.owner.site_id)
        deployment.point = points.filter(key=asked).first() if is_key(asked) else None
        return deployment

    def heading(self, row: Any) -> dict[str, Any]:
        back = reverse("deployments", args=[self.owner.key])
        return super().heading(row) | {"crumbs": [*trail(self.owner), ("Deployments", back)], "cancel_url": back}


class DeploymentEdit(EditPage):
    model, form_class = Deployment, forms.DeploymentForm


class DeploymentDelete(DeletePage):
    model = Deployment

    def remove(self) -> None:
        deployments.remove(self.found)


class DeploymentHistory(HistoryPage):
    model = Deployment
