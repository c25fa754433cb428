"""Instrument types with their channels, and instruments."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from campaigns import access
from campaigns.forms import instruments as forms
from campaigns.links import address, is_key, list_link
from campaigns.models import (
    Calibration,
    Channel,
    ChannelSpec,
    ClockCheck,
    Deployment,
    FieldCheck,
    Instrument,
    InstrumentType,
)
from campaigns.services import instrument_state
from campaigns.services.check_outcomes import failed_checks_of
from campaigns.views.campaigns import until
from campaigns.views.pages import AddOwnPage, AddPage, DeletePage, EditPage, HistoryPage, ListPage, RowPage
from methods.quantities.digits import as_entered
from methods.quantities.moments import local_text


class Instruments(ListPage):
    model = Instrument
    title = "Instruments"
    caption = "What measures."
    columns = [{"label": "Instrument"}, {"label": "Type"}, {"label": "Serial number"}, {"label": "Needs"}]
    empty = ("No instruments yet", "An instrument has a type, and its type has channels: enter the type first.")

    def rows(self) -> Any:
        return super().rows().select_related("type").prefetch_related("channels__spec", "channels__calibrations")

    def cells(self, row: Any) -> list[Any]:
        channels = list(row.channels.all())
        calibrations = [c for channel in channels for c in channel.calibrations.all()]
        needs = instrument_state.warnings(channels, calibrations, timezone.localdate())
        return [
            {"text": row.name, "url": address(row)},
            {"text": row.type.name, "url": address(row.type)},
            row.serial,
            " ".join(needs) or "–",
        ]

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        if kwargs["empty_actions"] and not access.visible(self.person, InstrumentType).exists():
            first = {"label": "Add instrument type", "url": reverse("instrument-type-add"), "primary": True}
            kwargs["empty_actions"] = [first]
        return super().get_context_data(links=[list_link(InstrumentType)], **kwargs)


class InstrumentPage(RowPage):
    """An instrument with all that was checked on it and where it stood."""

    model = Instrument
    template_name = "campaigns/instrument.html"
    related = ("type", "organisation")

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        instrument = self.found
        channels = list(access.visible(self.person, Channel).filter(instrument=instrument).select_related("spec"))
        calibrations = list(
            access.visible(self.person, Calibration).filter(channel__in=channels).select_related("channel__spec")
        )
        return self.show(
            title=instrument.name,
            kicker="Instrument",
            crumbs=[list_link(Instrument)],
            instrument=instrument,
            facts=self.facts(instrument),
            channels=[channel.spec for channel in channels],
            warnings=instrument_state.warnings(channels, calibrations, timezone.localdate()),
            calibrations=calibrations,
            **self.times(instrument),
            may_change=self.may_change,
            may_remove_checks=access.may_remove(self.person, ClockCheck, instrument.organisation_id),
            actions=self.deeds(),
        )

    def facts(self, instrument: Instrument) -> list[tuple[Any, ...]]:
        clock = instrument.get_clock_basis_display()
        if instrument.clock_basis == Instrument.ClockBasis.FIXED:
            clock = f"{clock}: {instrument.clock_offset_min:+d} min"
        return [
            ("Type", instrument.type, address(instrument.type)),
            ("Serial number", instrument.serial),
            ("Clock", clock),
            ("Warm-up", f"{instrument.type.warm_up_s} s"),
        ]

    def times(self, instrument: Instrument) -> dict[str, Any]:
        """Everything with a time, in the zone of the place where the instrument stood last."""
        zone, own = ZoneInfo(instrument_state.zone_of(instrument)), instrument_state.clock_zone(instrument)
        deployed = access.visible(self.person, Deployment).filter(instrument=instrument)
        failed = failed_checks_of(instrument)
        return {
            "zone": zone.key,
            "field_checks": [
                (check, local_text(check.at, zone), check.pk in failed)
                for check in FieldCheck.objects.filter(channel__instrument=instrument).select_related(
                    "channel__spec", "accepted_by"
                )
            ],
            "clock_checks": [
                (check, local_text(check.at, zone), check.shown, instrument_state.error_words(check, own))
                for check in instrument.clock_checks.all()
            ],
            "deployments": [
                (d, address(d), local_text(d.starts_at, d.campaign.site.zone_info), until(d))
                for d in deployed.select_related("campaign__site", "point__room").order_by("-starts_at")[:100]
            ],
        }


class InstrumentAdd(AddOwnPage):
    """``?type=`` with the key of a type chooses it."""

    model, form_class = Instrument, forms.InstrumentForm

    def row(self) -> Any:
        instrument, asked = super().row(), self.request.GET.get("type", "")
        if is_key(asked):
            instrument.type = access.visible(self.person, InstrumentType).filter(key=asked).first()
        return instrument


class InstrumentEdit(EditPage):
    model, form_class = Instrument, forms.InstrumentForm


class InstrumentDelete(DeletePage):
    model = Instrument


class InstrumentHistory(HistoryPage):
    model = Instrument


class InstrumentTypes(ListPage):
    model = InstrumentType
    title = "Instrument types"
    caption = "What instruments of one make have in common: their channels and their uncertainty."
    columns = [{"label": "Type"}, {"label": "Channels"}, {"label": "Instruments", "num": True}]
    empty = (
        "No instrument types yet",
        "A type says what its instruments measure, how finely and how surely.",
    )

    def rows(self) -> Any:
        counted = super().rows().annotate(instrument_count=Count("instruments"))
        return counted.prefetch_related("channel_specs")

    def cells(self, row: Any) -> list[Any]:
        channels = "; ".join(str(spec) for spec in row.channel_specs.all())
        return [{"text": row.name, "url": address(row)}, channels or "none yet", row.instrument_count]


class InstrumentTypePage(RowPage):
    model = InstrumentType
    template_name = "campaigns/instrument_type.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        kind = self.found
        return self.show(
            title=kind.name,
            kicker="Instrument type",
            crumbs=[list_link(Instrument), list_link(InstrumentType)],
            type=kind,
            facts=self.facts(kind),
            specs=kind.channel_specs.all(),
            instruments=access.visible(self.person, Instrument).filter(type=kind),
            may_change=self.may_change,
            actions=self.deeds(),
        )

    def facts(self, kind: InstrumentType) -> list[tuple[str, Any]]:
        low, high = kind.temperature_low_c, kind.temperature_high_c
        return [
            ("Warm-up", f"{kind.warm_up_s} s"),
            ("A stored value is", kind.get_represents_display()),
            ("Works from", "–" if low is None else f"{as_entered(low)} °C"),
            ("Works up to", "–" if high is None else f"{as_entered(high)} °C"),
            ("Also responds to", kind.interference or "–"),
        ]


class InstrumentTypeAdd(AddOwnPage):
    model, form_class = InstrumentType, forms.InstrumentTypeForm


class InstrumentTypeEdit(EditPage):
    model, form_class = InstrumentType, forms.InstrumentTypeForm


class InstrumentTypeDelete(DeletePage):
    model = InstrumentType


class InstrumentTypeHistory(HistoryPage):
    model = InstrumentType


class ChannelAdd(AddPage):
    model, form_class = ChannelSpec, forms.ChannelForm
    parent, parent_field = InstrumentType, "instrument_type"


class ChannelEdit(EditPage):
    model, form_class = ChannelSpec, forms.ChannelForm


class ChannelDelete(DeletePage):
    model = ChannelSpec


class ChannelHistory(HistoryPage):
    model = ChannelSpec
