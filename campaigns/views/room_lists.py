"""Rooms of a floor from a list: look first, then add."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.forms.room_lists import RoomListForm
from campaigns.links import trail
from campaigns.models import Floor, Zone
from campaigns.services.room_lists import Preview, RoomListEntry, apply, preview
from campaigns.views.pages import RowPage
from methods.quantities.digits import as_entered

BECOMES = {"new": "new", "filled": "there already; empty fields filled", "same": "there already; stays as it is"}


class RoomsImport(RowPage):
    """The list is sent twice: once to look, once, unchanged or mended, to add."""

    model = Floor
    related = ("building__site",)
    act = "change"
    template_name = "campaigns/room_list.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask(self.form())

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = self.form(request.POST, request.FILES)
        if not form.is_valid():
            return self.ask(form, status=422)
        arguments = (self.found, form.found, form.cleaned_data["zone"])
        adding = "add" in request.POST
        shown = apply(*arguments) if adding else preview(*arguments)
        if shown.problems:
            return self.ask(form.again(), shown, status=422)
        if not adding:
            return self.ask(form.again(), shown)
        counts = shown.counts
        messages.success(request, f"Added: {counts['new']} rooms; filled in: {counts['filled']}.")
        return redirect(reverse("floor-plan", args=[self.found.key]))

    def form(self, *data: Any) -> RoomListForm:
        return RoomListForm(*data, floor=self.found, zones=access.visible(self.person, Zone))

    def ask(self, form: RoomListForm, shown: Preview | None = None, status: int = 200) -> HttpResponse:
        floor = self.found
        back = reverse("floor-plan", args=[floor.key])
        return self.show(
            status=status,
            title="Rooms from a list",
            kicker=f"{floor.building}, {floor}",
            crumbs=[*trail(floor), ("Plan", back)],
            form=form,
            shown=shown,
            columns=["Line", "Room", "Zone", "Area", "Height", "Outline", "What happens"],
            rows=[cells(entry) for entry in shown.entries] if shown else [],
            cancel_url=back,
        )


def cells(entry: RoomListEntry) -> list[Any]:
    room, listed = entry.room, entry.listed
    sized = listed.outline is None and listed.width_m is not None
    drawn = "laid out in rows" if entry.outline and sized else f"{len(entry.outline)} corners" if entry.outline else "–"
    area = f"{as_entered(room.area_m2)} m²" if room.area_m2 else "–"
    height = f"{as_entered(room.height_m)} m" if room.height_m else "–"
    return [str(listed.line), room.name, room.zone.name, area, height, drawn, BECOMES[entry.what]]
