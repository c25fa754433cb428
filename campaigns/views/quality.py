"""Quality runs of a campaign, and what its measurements have to keep to."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from campaigns import access, history
from campaigns.forms.quality import AcceptanceForm, QualityRunForm
from campaigns.links import Link, trail
from campaigns.models import AcceptanceLimit, Campaign, QualityRun, RunInstrument
from campaigns.pages import quality as page
from campaigns.services import acceptance_limits, quality_runs
from campaigns.services.ownership import organisation_id_of
from campaigns.views import row_wording
from campaigns.views.pages import AddPage, DeletePage, EditPage, FormPage, HistoryPage, RowPage

RUN_CAUTION = (
    "Zero air is a gas under pressure or air drawn through a filter: feed it to the inlet with an overflow, never "
    "under pressure, and follow the maker's instructions.",
)


def _above(campaign: Campaign) -> list[Link]:
    return [*trail(campaign), ("Quality control", reverse("quality", args=[campaign.key]))]


class OfRun(FormPage):
    """Leads back to the quality control of the campaign."""

    form_class = QualityRunForm
    cautions = RUN_CAUTION

    def heading(self, row: Any) -> dict[str, Any]:
        back = reverse("quality", args=[row.campaign.key])
        return {**super().heading(row), "crumbs": _above(row.campaign), "cancel_url": back}


class QualityRunAdd(OfRun, AddPage):
    model = QualityRun
    parent, parent_field = Campaign, "campaign"

    def row(self) -> Any:
        run = super().row()
        run.starts_at = timezone.now().replace(second=0, microsecond=0)
        asked = self.request.GET.get("kind", "")
        run.kind = asked if asked in QualityRun.Kind.values else QualityRun.Kind.SIDE_BY_SIDE
        return run


class QualityRunEdit(OfRun, EditPage):
    model = QualityRun


class QualityRunDelete(DeletePage):
    model = QualityRun

    def remove(self) -> None:
        quality_runs.remove(self.found)

    def after(self) -> str:
        return reverse("quality", args=[self.found.campaign.key])


class QualityRunHistory(HistoryPage):
    """Also which instruments came into it, and which were taken out."""

    model = QualityRun

    def entries(self) -> list[dict[str, Any]]:
        came_and_went = history.of_those_under(RunInstrument, "run", self.found)
        members = row_wording.entries(RunInstrument(), came_and_went)
        return sorted([*super().entries(), *members], key=lambda entry: str(entry["when"]), reverse=True)


class OfAcceptance(RowPage):
    """Only for those who may set acceptance limits."""

    model = Campaign
    related: ClassVar[tuple[str, ...]] = ("site",)

    @property
    def campaign(self) -> Campaign:
        campaign: Campaign = self.found
        if not access.may_add(self.person, AcceptanceLimit, organisation_id_of(campaign)):
            raise Http404
        return campaign


class Acceptance(OfAcceptance):
    """What the measurements have to keep to, agreed before the visit."""

    template_name = "campaigns/acceptance.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask(AcceptanceForm(campaign=self.campaign, person=self.person))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = AcceptanceForm(request.POST, campaign=self.campaign, person=self.person)
        count = form.stored()
        if count is None:
            return self.ask(form, status=422)
        return _told(self.request, self.campaign, count)

    def ask(self, form: AcceptanceForm, status: int = 200) -> HttpResponse:
        campaign = self.campaign
        return self.show(
            status=status,
            title="Acceptance limits",
            subtitle="What the measurements have to keep to. Agreed before the visit, they cannot be fitted to it.",
            crumbs=_above(campaign),
            campaign=campaign,
            form=form,
            began=page.began(campaign),
            columns=page.SET,
            rows=page.settings_made(campaign),
            cancel_url=reverse("quality", args=[campaign.key]),
        )


class AcceptanceUsual(OfAcceptance):
    """Start from common practice, for whatever has no limit."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return _told(request, self.campaign, acceptance_limits.put_usual(self.campaign, self.person))


def _told(request: HttpRequest, campaign: Campaign, count: int) -> HttpResponse:
    tell = messages.success if count else messages.warning
    tell(request, f"{count} acceptance {'limit' if count == 1 else 'limits'} set.")
    return redirect("acceptance", key=campaign.key)
