"""What a campaign is judged by: choosing, ordering, and what the instruments can decide about it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from campaigns import access
from campaigns.forms.limits import LimitFilter, SetForm, StarterForm
from campaigns.links import trail
from campaigns.models import Campaign, Criterion, Limit
from campaigns.pages import fitness, limit_catalogue
from campaigns.pages.chosen_criteria import Chosen, chosen_of
from campaigns.services import criteria as choosing
from campaigns.services.limits_library import checks_in
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import RowPage
from methods.limits.catalogue import starter_set
from methods.limits.model import LimitDefinition as LibraryLimit
from methods.quantities.substances import first

CAUTIONS = (
    "A workplace limit is no criterion for a dwelling, nor the reverse.",
    "A limit holds for its averaging time: a mean over a year cannot be judged from hours or days.",
    "What follows from a finding is for a licensed or qualified professional to decide under the local code.",
)


class Criteria(RowPage):
    model = Campaign
    template_name = "campaigns/criteria.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask()

    def ask(self, starter: StarterForm | None = None, whole: SetForm | None = None, status: int = 200) -> HttpResponse:
        campaign = self.found
        chosen = chosen_of(campaign)
        specs = fitness.channels(campaign)
        measured = list(dict.fromkeys(spec.parameter for spec in specs))
        wanted = LimitFilter(self.request.GET).chosen(measured[0] if measured else first())
        return self.show(
            status=status,
            title="Criteria",
            subtitle="What the air of this campaign is judged by, in the order in which it is shown.",
            crumbs=trail(campaign),
            campaign=campaign,
            criteria=self.told(chosen, specs),
            offer=self.offer(wanted, chosen) if self.may_change else [],
            filter=LimitFilter(initial=wanted),
            starter=starter or StarterForm(initial={"starter": "public", "parameters": measured}),
            whole=whole or SetForm(),
            may_change=self.may_change,
            cautions=CAUTIONS,
        )

    def told(self, chosen: list[Chosen], specs: list[Any]) -> list[dict[str, Any]]:
        checks = checks_in(self.found.site.organisation_id, [criterion.criterion.limit_id for criterion in chosen])
        out = []
        for n, criterion in enumerate(chosen):
            rows = fitness.told(self.found, criterion, specs)
            out.append(
                {
                    "chosen": criterion,
                    "first": n == 0,
                    "last": n == len(chosen) - 1,
                    "fitness": rows,
                    "summary": fitness.summary(rows),
                    "unseen": criterion.limit.needs_check and criterion.criterion.limit_id not in checks,
                }
            )
        return out

    def offer(self, wanted: dict[str, Any], chosen: list[Chosen]) -> list[limit_catalogue.CatalogueEntry]:
        """Limits that fit the filter and are not chosen yet."""
        held = {criterion.criterion.limit_id for criterion in chosen}
        entries = [entry for entry in limit_catalogue.look(self.person, wanted) if entry.row.pk not in held]
        own = self.found.site.organisation_id
        mine = [entry for entry in entries if entry.row.organisation_id in (None, own)]
        return limit_catalogue.ordered(limit_catalogue.placed(mine, limit_catalogue.axis_unit(mine)), "time")


class PlanFitness(RowPage):
    """What the instruments cannot decide, as a piece of the plan page."""

    model = Campaign
    template_name = "campaigns/parts/fitness.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        criteria = chosen_of(self.found)
        unfit = fitness.unfit(self.found, criteria, fitness.channels(self.found))
        return self.show(campaign=self.found, criteria=len(criteria), unfit=unfit)


class CriterionAdd(Criteria):
    """Take chosen limits, or a starter set, into the campaign."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        if not access.may_add(self.person, Criterion, organisation_id_of(campaign)):
            raise Http404
        if "starter" in request.POST:
            form = StarterForm(request.POST)
            if not form.is_valid():
                return self.ask(form, status=422)
            limits = self.of_starter(form.cleaned_data)
        elif "limit_set" in request.POST:
            whole = SetForm(request.POST)
            if not whole.is_valid():
                return self.ask(whole=whole, status=422)
            limits = published(whole.limits(campaign.starts_on))
        else:
            limits = self.picked(request.POST.getlist("limit"))
        count = choosing.add(campaign, limits)
        tell = messages.success if count else messages.warning
        tell(request, f"{count} {'limit' if count == 1 else 'limits'} added.")
        return redirect("criteria", key=campaign.key)

    def of_starter(self, wanted: dict[str, Any]) -> list[Limit]:
        starter_limits = starter_set(
            wanted["starter"],
            jurisdiction=wanted["jurisdiction"] or None,
            parameters=wanted["parameters"],
            on=self.found.starts_on,
        )
        return published(starter_limits)

    def picked(self, keys: list[str]) -> list[Limit]:
        """Visible limits with these keys; of others' limits nobody here can know."""
        rows = {str(row.key): row for row in access.visible(self.person, Limit)}
        own = (None, self.found.site.organisation_id)
        return [rows[key] for key in keys if key in rows and rows[key].organisation_id in own]


def published(limits: Iterable[LibraryLimit]) -> list[Limit]:
    """The rows of published limits, in their order. One query."""
    codes = [limit.code for limit in limits]
    rows = {row.code: row for row in Limit.objects.filter(organisation__isnull=True, code__in=codes)}
    return [rows[code] for code in codes]


class OneCriterion(RowPage):
    model = Criterion
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("campaign", "limit")
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]


class CriterionMove(OneCriterion):
    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        choosing.move(self.found, up=request.POST.get("direction") == "up")
        return redirect("criteria", key=self.found.campaign.key)


class CriterionRemove(OneCriterion):
    """The results against it go with it; the limit stays, and so do frozen reports."""

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign, name = self.found.campaign, str(self.found)
        choosing.remove(self.found)
        messages.success(request, f"Removed: {name}.")
        return redirect("criteria", key=campaign.key)
