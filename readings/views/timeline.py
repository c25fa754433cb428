"""The timeline of an instrument in a campaign: what was logged when, beside where it is said to have stood."""

from __future__ import annotations

from datetime import datetime
from functools import cached_property
from typing import Any, ClassVar
from urllib.parse import urlencode

from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse

from campaigns import access
from campaigns.links import is_key, trail
from campaigns.models import Campaign, Channel, Deployment, Instrument
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import RowPage
from methods.quantities.moments import local_text, utc_moment
from methods.quantities.substances import first
from readings.forms import timeline as forms
from readings.pages.timeline import Listing
from readings.services import timeline
from readings.services.timeline import Who
from readings.services.timeline.picture import drawn, picture

STEPS_SHOWN = 30
CAUTION = (
    "Moving an edge moves readings from one room to another, and with them every result. Go by notes, photographs or "
    "a second instrument; a change in the log alone proves no change of room."
)


class OnTimeline(RowPage):
    """Anything on the timeline of one instrument of a campaign."""

    model = Campaign
    related: ClassVar[tuple[str, ...]] = ("site",)

    @cached_property
    def instruments(self) -> list[Instrument]:
        """Those that stood in the campaign, or whose logs were handed in for it."""
        rows = access.visible(self.person, Instrument).filter(organisation=self.found.site.organisation_id)
        own = rows.filter(Q(deployments__campaign=self.found) | Q(uploads__campaign=self.found))
        return list(own.select_related("type").distinct().order_by("name", "pk"))

    def one(self, key: Any) -> Instrument:
        instrument: Instrument = access.find(self.person, Instrument, key, related=("type",))
        if instrument.organisation_id != organisation_id_of(self.found):
            raise Http404
        return instrument

    @cached_property
    def may_edit(self) -> bool:
        return access.may_add(self.person, Deployment, organisation_id_of(self.found))

    @cached_property
    def may_remove_stays(self) -> bool:
        return access.may_remove(self.person, Deployment, organisation_id_of(self.found))

    def who(self, instrument: Instrument) -> Who:
        return Who(self.found, instrument, self.person)

    def channels(self, instrument: Instrument) -> list[Channel]:
        """The one for formaldehyde first, which is what most campaigns are about."""
        rows = instrument.channels.select_related("spec", "instrument__type").order_by("pk")
        return sorted(rows, key=lambda channel: channel.spec.parameter != first())

    def channel(self, channels: list[Channel]) -> Channel | None:
        asked = self.request.GET.get("parameter", "")
        return next((c for c in channels if c.spec.parameter == asked), channels[0] if channels else None)


class Timeline(OnTimeline):
    template_name = "readings/timeline.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        frame = {
            "title": "Timeline",
            "subtitle": f"What an instrument logged, and where it stood then. Clock in {self.found.site.time_zone}.",
            "crumbs": [*trail(self.found), ("Deployments", reverse("deployments", args=[self.found.key]))],
            "campaign": self.found,
            "may_edit": self.may_edit,
            "may_remove_stays": self.may_remove_stays,
        }
        asked = request.GET.get("instrument", "")
        instrument = self.one(asked) if is_key(asked) else next(iter(self.instruments), None)
        if instrument is None:
            return self.show(**frame, uploads_url=reverse("uploads", args=[self.found.key]))
        channels = self.channels(instrument)
        channel = self.channel(channels)
        if channel is None:
            return self.show(**frame, instrument=instrument, **self.switches(instrument, channels, None))
        seen = picture(self.found, instrument, channel)
        listing = Listing(seen, self.may_edit, self.visits)
        return self.show(
            **frame,
            instrument=instrument,
            channel=channel,
            caution=CAUTION,
            **self.switches(instrument, channels, channel),
            **listing.log(),
            **listing.stays(),
            **listing.proposals(),
            **(self.forms(listing) if self.may_edit else {}),
            **self.steps(instrument),
            drawing=drawn(seen) | self.for_script(listing),
        )

    @property
    def visits(self) -> int | None:
        asked = self.request.GET.get("visits", "")
        return int(asked) if asked.isdecimal() and len(asked) < 4 else None

    def switches(self, instrument: Instrument, channels: list[Channel], channel: Channel | None) -> dict[str, Any]:
        known = self.instruments if instrument in self.instruments else [*self.instruments, instrument]
        here = reverse("timeline", args=[self.found.key])
        return {
            "instruments": [(str(i), f"{here}?{urlencode({'instrument': i.key})}", i == instrument) for i in known],
            "parameters": [
                (
                    c.spec.parameter_name,
                    f"{here}?{urlencode({'instrument': instrument.key, 'parameter': c.spec.parameter})}",
                    c == channel,
                )
                for c in channels
            ],
        }

    def forms(self, listing: Listing) -> dict[str, Any]:
        """The form for a new deployment; with a deployment chosen, those for what can be done with it."""
        seen = listing.seen
        channel = seen.logged.channel
        who, parameter = self.who(channel.instrument), channel.spec.parameter
        create = forms.CreateForm(who=who, auto_id="create-%s", initial=self.asked_span())
        shown: dict[str, Any] = {"create": create.offer(parameter)}
        row = next((d for d in seen.own if str(d.key) == self.request.GET.get("deployment", "")), None)
        if row is None:
            return {"forms": shown}
        held = {"deployment": row.key, "starts_at": row.starts_at, "ends_at": row.ends_at, "seen": forms.seen_text(row)}
        shown["move"] = forms.MoveForm(who=who, row=row, auto_id="move-%s", initial=held)
        end = row.ends_at or utc_moment(seen.extent[1])
        middle = (row.starts_at + (end - row.starts_at) / 2).replace(second=0, microsecond=0)
        split = forms.SplitForm(who=who, auto_id="split-%s", initial={"deployment": row.key, "at": middle})
        shown["split"] = split.offer(parameter, "The same point")
        return {"forms": shown, "chosen": row, "neighbours": listing.neighbours(row)}

    def asked_span(self) -> dict[str, datetime]:
        """Start and end of a burst that somebody wants to make a deployment of."""
        span = {}
        for name, asked in (("starts_at", "from"), ("ends_at", "to")):
            text = self.request.GET.get(asked, "")
            if text.isdecimal() and len(text) <= 13:
                span[name] = utc_moment(int(text))
        return span

    def steps(self, instrument: Instrument) -> dict[str, Any]:
        zone = self.found.site.zone_info
        rows = timeline.steps_of(self.found, instrument)[:STEPS_SHOWN]
        return {
            "steps": [
                {
                    "row": row,
                    "at": local_text(row.created_at, zone),
                    "undone": row.undone_at and local_text(row.undone_at, zone),
                }
                for row in rows
            ],
            "step_to_undo": timeline.latest_done(self.found, instrument),
            "step_to_redo": timeline.next_undone(self.found, instrument),
        }

    def for_script(self, listing: Listing) -> dict[str, Any]:
        channel = listing.seen.logged.channel
        trace = reverse("timeline-trace", args=[self.found.key, channel.instrument.key])
        visits = listing.proposed.visits
        return {
            "may": self.may_edit,
            "id": f"{self.found.key}/{channel.instrument.key}",
            "chosen": self.request.GET.get("deployment", ""),
            "url": listing.url(),
            "trace_url": f"{trace}?{urlencode({'parameter': channel.spec.parameter})}",
            "proposals": [[v.start_ms, v.end_ms, str(v.point), v.weak] for v in visits],
        }


class TimelineTrace(OnTimeline):
    """Lowest and highest readings in each part of [start, end): more detail for a part of the strip."""

    def get(self, request: HttpRequest, instrument: Any, **kwargs: Any) -> JsonResponse:
        row = self.one(instrument)
        channel = self.channel(self.channels(row))
        if channel is None:
            raise Http404
        seen = picture(self.found, row, channel)
        low, high = (self.edge(name, otherwise) for name, otherwise in zip(("start", "end"), seen.extent, strict=True))
        return JsonResponse({"trace": seen.trace(low, high) if low < high else []})

    def edge(self, name: str, otherwise: int) -> int:
        """UTC ms as asked for; the edge of the whole timeline where it is not asked for in numbers."""
        text = self.request.GET.get(name, "")
        return int(text) if text.isdecimal() and len(text) <= 13 else otherwise
