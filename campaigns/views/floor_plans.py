"""The plan of a floor: the page to look at and draw on, and what its script asks for."""

from __future__ import annotations

import json
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse

from campaigns.forms.places import indoor_kinds
from campaigns.links import trail
from campaigns.models import Floor
from campaigns.services import floor_plans
from campaigns.services.drawings import drawings_of
from campaigns.services.floor_plans.state import doubts
from campaigns.views.pages import RowPage
from methods import floorplans
from methods.wording.plain_text import refused_in

FLOOR = ("building__site",)
UNREADABLE = "This request cannot be read. Reload the page; if it happens again, tell the person who runs the server."


class FloorPlanPage(RowPage):
    """Without script a drawing with links to forms; with it the same drawing to work on."""

    model = Floor
    template_name = "campaigns/floor_plan.html"
    related = FLOOR

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        floor = self.found
        return self.show(
            title=f"Plan: {floor.name}",
            kicker=str(floor.building),
            crumbs=trail(floor),
            floor=floor,
            drawing=drawings_of([floor], with_image=True, with_points=True)[floor.pk],
            state=state_for(self),
            zones=floor.zones.prefetch_related("rooms__points"),
            may_change=self.may_change,
            addresses=self.addresses(floor),
            kinds=indoor_kinds(),
            actions=self.actions(floor),
        )

    def actions(self, floor: Floor) -> list[dict[str, Any]]:
        if not self.may_change:
            return []
        links = {"Plan image": "floor-plan-image-add", "Rooms from a list": "rooms-import"}
        return [{"label": label, "url": reverse(route, args=[floor.key])} for label, route in links.items()]

    def addresses(self, floor: Floor) -> dict[str, str]:
        """What the script asks, by its name there."""
        names = {"data": "floor-plan-data", "save": "floor-plan-save", "split": "floor-plan-split"}
        return {name: reverse(route, args=[floor.key]) for name, route in names.items()}


class FloorPlanData(RowPage):
    """The floor as JSON."""

    model = Floor
    related = FLOOR

    def get(self, request: HttpRequest, **kwargs: Any) -> JsonResponse:
        return JsonResponse(state_for(self))


class JsonPost(RowPage):
    """Takes a JSON object about a floor from those who may change it."""

    model = Floor
    related = FLOOR
    act = "change"
    http_method_names = ["post"]

    def post(self, request: HttpRequest, **kwargs: Any) -> JsonResponse:
        _ = self.found  # 404 comes before what was sent is looked at
        try:
            sent = json.loads(request.body)
        except (ValueError, RecursionError, RequestDataTooBig):
            sent = None
        if not isinstance(sent, dict):
            return JsonResponse({"message": UNREADABLE}, status=400)
        if unseen := refused_in(sent):
            problem = dict(zip(("id", "field", "message"), unseen, strict=True))
            return JsonResponse({"message": "Nothing was saved yet.", "problems": [problem]}, status=422)
        return self.answer(sent)

    def answer(self, sent: dict[str, Any]) -> JsonResponse:
        raise NotImplementedError


class FloorPlanSave(JsonPost):
    """All changes of the drawing page at once: 200 with the new state, 409 when it was outdated, 422 with problems."""

    def answer(self, sent: dict[str, Any]) -> JsonResponse:
        try:
            given = floor_plans.save(self.found, sent)
        except floor_plans.Outdated as outdated:
            at = outdated.plan.updated_at.astimezone(self.found.building.site.zone_info)
            message = f"{outdated} That was at {at:%H:%M}. Nothing of yours is lost."
            return JsonResponse({"message": message, "state": state_for(self)}, status=409)
        except floor_plans.DrawingRefused as refused:
            return JsonResponse({"message": "Nothing was saved yet.", "problems": refused.problems}, status=422)
        return JsonResponse({"given": given, "state": state_for(self)})


class FloorPlanSplit(JsonPost):
    """The two parts of an outline on either side of a line. Computes and stores nothing."""

    def answer(self, sent: dict[str, Any]) -> JsonResponse:
        try:
            first, second = floorplans.corners([sent.get("first"), sent.get("second")])
            parts = floorplans.split(floorplans.corners(sent.get("outline")), first, second)
        except (floorplans.OutlineError, ValueError) as error:
            wrong = str(error) if isinstance(error, floorplans.OutlineError) else "A line needs two different places."
            return JsonResponse({"message": wrong}, status=422)
        return JsonResponse({"parts": parts})


def state_for(view: Any) -> dict[str, Any]:
    """The floor's state for the person of ``view``."""
    return {
        **floor_plans.state_of(view.found),
        "doubts": doubts(view.found),
        "may_change": view.may_change,
    }
