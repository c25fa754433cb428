"""The campaign page: the building first, then what was found, then what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any, ClassVar
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns.enqueue import enqueue
from campaigns.links import trail_above
from campaigns.models import Campaign
from campaigns.pages.chosen_criteria import Chosen, chosen_of, options, pick
from campaigns.services.alert_levels import level_words
from campaigns.views.pages import PolledPage, RowPage
from methods.verdicts import MARK_GLYPHS, VERDICT_WORDS, Verdict
from methods.wording.cautions import cautions
from methods.wording.numbers import sentence_case
from reports.job_kinds import EVALUATE
from reports.pages import before_after as again
from reports.pages import campaign as facts
from reports.pages import quality, rooms
from reports.pages import zone_ranking as stand
from reports.pages.deployment_days import course
from reports.pages.floor_plans import floor_plans
from reports.pages.work_in_progress import Work, work_of
from reports.queries.entered_rows import Entered
from reports.services.missing import lacks

RANKING = [
    {"label": "Zone"},
    {"label": "Governing point"},
    {"label": "Result ± U", "num": True},
    {"label": "Fraction of the limit"},
    {"label": "Verdict"},
]
#: By mark the head of its column in the table of all criteria.
SHORT = {
    "above": "above",
    "below": "below",
    "within_range": "within a range",
    "above_range": "above one",
    "below_range": "below one",
}


def matrix_columns(criteria: Sequence[Chosen]) -> list[dict[str, Any]]:
    """Heads of the table of all criteria: a column for each mark that any of them may have."""
    marks = stand.matrix_marks(criteria)
    heads = [f"{MARK_GLYPHS[mark]} {SHORT.get(mark) or VERDICT_WORDS[Verdict(mark)]}" for mark in marks]
    return [{"label": "Criterion"}, *({"label": head, "num": True} for head in (*heads, "not measured"))]


class CampaignPage(PolledPage):
    """The part that changes asks for itself again: it answers 204 while nothing has changed since ``seen``."""

    model = Campaign
    related: ClassVar[tuple[str, ...]] = ("site__client",)

    @cached_property
    def entered(self) -> Entered:
        return Entered(self.found)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        work = work_of(self.found)
        polled = bool(request.headers.get("HX-Request"))
        if polled and request.GET.get("seen") == work.token:
            return HttpResponse(status=204)
        criteria = chosen_of(self.found)
        context = self.standing(criteria, work)
        self.template_name = "reports/parts/zone_ranking.html" if polled else "reports/campaign.html"
        return self.show(**context, **({} if polled else self.frame(criteria)))

    def standing(self, criteria: list[Chosen], work: Work) -> dict[str, Any]:
        campaign = self.found
        current = pick(criteria, self.request.GET.get("criterion"))
        parameters = {chosen.limit.parameter for chosen in criteria}
        seen = self.here(criterion=str(current.criterion.key) if current else None, seen=work.token)
        context: dict[str, Any] = {
            "campaign": campaign,
            "work": work,
            "poll_url": f"{reverse('campaign', args=[campaign.key])}{seen}",
            "lacks": lacks(campaign, self.entered, parameters),
            "next_step": facts.next_step(campaign, self.entered, has_criteria=bool(criteria)),
            "options": options(criteria, current),
            "quality": quality.section(campaign),
        }
        if current is None:
            return context
        buildings = stand.buildings_of(campaign)
        standing = stand.standing(campaign, current, buildings)
        return (
            context
            | self.drawn(standing)
            | {
                "current": current,
                "tally": stand.tally(standing),
                "ranking": stand.ranking(standing),
                "ranking_columns": RANKING,
                "ranking_caption": f"Zones by concern. {current.text}. {sentence_case(current.limit.population)}.",
                "open_questions": stand.open_questions(standing),
                "indication": stand.indication(standing),
                "chances": rooms.among(campaign, current.limit, standing.findings.values()),
                "matrix": stand.matrix(criteria, len(standing.zones), current) if len(criteria) > 1 else [],
                "matrix_columns": matrix_columns(criteria),
                "cautions": cautions(parameters, workplace=current.limit.workplace, levels=level_words(campaign)),
            }
        )

    def drawn(self, standing: stand.Standing) -> dict[str, Any]:
        """The building, filled by this campaign or by another one that asked the same question."""
        campaign, current = self.found, standing.chosen
        others = again.repeats(campaign, current)
        instead = again.shown(others, self.request.GET.get("shown"))
        beside = instead or (others[-1] if others else None)
        theirs = again.standing_of(beside, standing) if beside else None
        return {
            **self.building(theirs if instead and theirs else standing),
            "instead": instead,
            "campaigns": again.switch(campaign, current, others, instead) if others else [],
            "comparison": again.comparison(standing, theirs) if theirs else None,
        }

    def building(self, filled: stand.Standing) -> dict[str, Any]:
        """Floor plans where floors are drawn, the house in section otherwise, and for whoever asks."""
        section = self.request.GET.get("view") == "section"
        plans = floor_plans(filled)
        ways = [("Floor plans", self.here(view=None), not section), ("Section", self.here(view="section"), section)]
        if section or not plans:
            return {"sections": stand.sections(filled), "ways": ways if plans else []}
        return {"plans": plans, "outdoor": stand.outdoor_cells(filled), "ways": ways}

    def here(self, **instead: str | None) -> str:
        """The address of this view of the page, with some of what was asked replaced."""
        asked = {name: self.request.GET.get(name) for name in ("criterion", "shown", "view")} | instead
        return f"?{urlencode({name: value for name, value in asked.items() if value})}"

    def frame(self, criteria: list[Chosen]) -> dict[str, Any]:
        campaign = self.found
        return {
            "title": campaign.name,
            "kicker": "Campaign",
            "subtitle": campaign.objective,
            "crumbs": trail_above(campaign),
            "facts": facts.facts(campaign, self.entered),
            "course": course(campaign, self.entered),
            "may_change": self.may_change,
            "actions": self.actions(bool(criteria)),
        }

    def actions(self, has_criteria: bool) -> list[dict[str, Any]]:
        def to(label: str, route: str, **extra: Any) -> dict[str, Any]:
            return {"label": label, "url": reverse(route, args=[self.found.key]), **extra}

        links = [
            to("Plan", "plan"),
            to("Deployments", "deployments"),
            to("Uploads", "uploads"),
            to("Criteria", "criteria"),
            to("Time of use", "use"),
            to("Alert levels", "alert-levels"),
            to("Quality control", "quality"),
        ]
        if self.may_change and has_criteria:
            links += [to("Judge again", "judge", post=True), to("Report", "report"), to("Readers", "readers")]
        return links


class Judge(RowPage):
    """Ask for the campaign to be judged again."""

    model = Campaign
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("site",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        enqueue(EVALUATE, campaign.pk, organisation_id=campaign.site.organisation_id, owner=self.person)
        messages.success(request, "The campaign is being judged again.")
        return redirect("campaign", key=campaign.key)
