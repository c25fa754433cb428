"""The figures of the zone page, each as a piece of it, and any part of their time axis in more detail."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.core.exceptions import BadRequest
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, StreamingHttpResponse
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.utils.text import slugify

from campaigns.pages.chosen_criteria import Chosen, pick
from methods.figures import Span
from methods.quantities.moments import OUT_OF_REACH, is_within_reach, stamp_ms
from methods.quantities.substances import SUBSTANCES
from reports.pages import correlation, distribution, indoor_outdoor, time_series
from reports.pages import zone as panel
from reports.pages.figure_query import FigureQuery, may_be_long
from reports.pages.figure_set import FigureDrawing, FigureSet
from reports.pages.readings_csv import readings_csv
from reports.views.zone import InZone

#: A drawing is never told to be wider than this many pixels, and never narrower.
WIDEST, NARROWEST = 4000, 100


class OfZone(InZone):
    """Something about one parameter in one zone."""

    def look(self, parameter: str) -> FigureQuery:
        """Http404 for an unknown parameter or criterion, BadRequest for a time that is none."""
        if parameter not in SUBSTANCES:
            raise Http404
        return FigureQuery(
            self.found, self.zone, parameter, self.criteria, self.criterion(parameter), self.span, self.pixels
        )

    def criterion(self, parameter: str) -> Chosen | None:
        """What was asked for, if it is about the parameter; else the first that is."""
        current = pick(self.criteria, self.request.GET.get("criterion"))
        if current is not None and current.limit.parameter != parameter:
            return next((chosen for chosen in self.criteria if chosen.limit.parameter == parameter), None)
        return current

    @property
    def span(self) -> Span | None:
        start, end = self.request.GET.get("from"), self.request.GET.get("to")
        if not start and not end:
            return None
        try:
            walls = datetime.fromisoformat(start or ""), datetime.fromisoformat(end or "")
        except ValueError:
            raise BadRequest("“from” and “to” are times on the clock of the site, as 2026-09-15T10:30:00") from None
        if not all(is_within_reach(wall) for wall in walls):
            raise BadRequest(OUT_OF_REACH)
        span = stamp_ms(walls[0]), stamp_ms(walls[1])
        if span[0] >= span[1]:
            raise BadRequest("“to” must be later than “from”")
        return span

    @property
    def pixels(self) -> int | None:
        asked = self.request.GET.get("width", "")
        return max(NARROWEST, min(WIDEST, int(asked[:6]))) if asked.isdecimal() else None

    def conditions(self, look: FigureQuery) -> list[str]:
        return panel.conditions(look.campaign, look.zone, look.parameter)


class ZoneFiguresPart(OfZone):
    """All figures of one view, as a piece of the zone page."""

    template_name = "reports/parts/series.html"

    def drawn(self, look: FigureQuery) -> FigureSet:
        raise NotImplementedError

    def get(self, request: HttpRequest, key: UUID, zone_key: UUID, parameter: str) -> HttpResponse:
        look = self.look(parameter)
        figures = self.drawn(look)
        return self.show(
            found=figures,
            figures=[self.figure(look, drawing) for drawing in figures.drawings],
            parameter=parameter,
            low=look.current is None,
        )

    def figure(self, look: FigureQuery, drawing: FigureDrawing) -> dict[str, Any]:
        """What the template needs of one figure."""
        return {
            "drawing": drawing,
            "id": f"{drawing.key}-{look.parameter}",
            "json": json.dumps(drawing.figure, separators=(",", ":")),
            "range": self.range_address(look, drawing) if drawing.zooms else "",
            "csv": self.csv_address(look, drawing),
            "file": slugify(f"{look.zone.name} {look.parameter} {drawing.key}"),
        }

    def range_address(self, look: FigureQuery, drawing: FigureDrawing) -> str:
        address = reverse("zone-range", args=[self.found.key, self.zone.key, drawing.key, look.parameter])
        return f"{address}?{self.criterion_query(look)}"

    def csv_address(self, look: FigureQuery, drawing: FigureDrawing) -> str:
        asked: dict[str, Any] = {"parameter": drawing.parameters}
        if drawing.outdoors:
            asked["outdoors"] = "1"
        if drawing.only_long:
            asked["long"] = "1"
        if drawing.room_air:
            asked["room_air"] = "1"
        address = reverse("zone-readings", args=[self.found.key, self.zone.key])
        return f"{address}?{urlencode(asked, doseq=True)}&{self.criterion_query(look)}".rstrip("&")

    def criterion_query(self, look: FigureQuery) -> str:
        return urlencode({"criterion": str(look.current.criterion.key)}) if look.current else ""


class ZoneSeries(ZoneFiguresPart):
    def drawn(self, look: FigureQuery) -> FigureSet:
        return time_series.over_time(look)


class ZoneSpread(ZoneFiguresPart):
    def drawn(self, look: FigureQuery) -> FigureSet:
        return distribution.distribution(look, self.asked.get("axis"), self.other)

    def other(self, name: str, value: str) -> str:
        return self.link(view="spread", **{name: value})


class ZoneOutdoor(ZoneFiguresPart):
    def drawn(self, look: FigureQuery) -> FigureSet:
        return indoor_outdoor.indoors_outdoors(look)


class ZoneConditions(ZoneFiguresPart):
    def drawn(self, look: FigureQuery) -> FigureSet:
        return time_series.with_conditions(look, self.conditions(look))


class ZoneTogether(ZoneFiguresPart):
    def drawn(self, look: FigureQuery) -> FigureSet:
        return correlation.against(look, self.asked.get("against"), self.other)

    def other(self, name: str, value: str) -> str:
        return self.link(view="together", **{name: value})


class ZonePoints(ZoneFiguresPart):
    def drawn(self, look: FigureQuery) -> FigureSet:
        return distribution.side_by_side(look)


class ZoneRange(OfZone):
    """A part of a figure's time axis: the figure anew, of the readings in it, and its numbers."""

    def get(self, request: HttpRequest, key: UUID, zone_key: UUID, figure: str, parameter: str) -> HttpResponse:
        look = self.look(parameter)
        if figure not in time_series.ZOOMING:
            raise Http404
        if look.span is None:
            raise BadRequest("“from” and “to” say which part of the time axis is meant")
        drawing = time_series.part_of(look, figure, self.conditions(look))
        if drawing is None or drawing.numbers is None:
            return JsonResponse({"figure": None, "said": "Nothing was measured here in this time.", "numbers": ""})
        context = {"table": drawing.numbers, "table_id": f"{figure}-{parameter}-numbers"}
        return JsonResponse(
            {
                "figure": drawing.figure,
                "said": time_series.count_words(drawing),
                "numbers": render_to_string("reports/parts/numbers.html", context),
            }
        )


class ZoneReadings(OfZone):
    """Every reading behind a figure, or behind the part of it that is looked at."""

    def get(self, request: HttpRequest, key: UUID, zone_key: UUID) -> StreamingHttpResponse:
        asked, zone = request.GET.getlist("parameter"), self.zone
        if not asked:
            raise BadRequest("“parameter” says which readings are meant")
        parts = [self.look(parameter) for parameter in dict.fromkeys(asked)]
        wanted = [(look, self.deployments(look)) for look in parts]
        response = StreamingHttpResponse(readings_csv(wanted), content_type="text/csv; charset=utf-8; header=present")
        name = slugify(f"{zone.name} {' '.join(asked)}")[:80] or "readings"
        response["Content-Disposition"] = content_disposition_header(True, f"{name}.csv") or "attachment"
        response["X-Content-Type-Options"] = "nosniff"
        return response

    def deployments(self, look: FigureQuery) -> list[Any]:
        here = look.deployments()
        if self.request.GET.get("room_air"):
            here = [deployment for deployment in here if deployment.point.kind == panel.ROOM_AIR]
        if self.request.GET.get("long"):
            here = [deployment for deployment in here if may_be_long(deployment)]
        return [*here, *look.outdoors()] if self.request.GET.get("outdoors") else here
