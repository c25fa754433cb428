"""What changed, and which campaigns it touches: said to the apps above, which judge again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db.models import Model, Q
from django.db.models.signals import post_delete, post_save, pre_save

from campaigns import models as m
from campaigns.signals import inputs_changed


def _of_instrument(instrument_id: int) -> Q:
    return Q(deployments__instrument=instrument_id)


def _of_use(row: m.UseTimetable) -> Q:
    if row.campaign_id:
        return Q(pk=row.campaign_id)
    if row.building_id:
        return Q(deployments__point__room__zone__floor__building=row.building_id)
    return Q(deployments__point__room__zone=row.zone_id)


#: For each model on which judgements rest: the campaigns that a row of it touches.
TOUCHES: dict[type[Model], Callable[[Any], Q]] = {
    m.Site: lambda site: Q(site=site.pk),
    m.Building: lambda building: Q(deployments__point__room__zone__floor__building=building.pk),
    m.Zone: lambda zone: Q(deployments__point__room__zone=zone.pk),
    m.Room: lambda room: Q(deployments__point__room__zone=room.zone_id),  # findings count the rooms of a zone
    m.SamplingPoint: lambda point: Q(deployments__point=point.pk),
    m.InstrumentType: lambda kind: Q(deployments__instrument__type=kind.pk),
    m.ChannelSpec: lambda spec: Q(deployments__instrument__type=spec.instrument_type_id),
    m.Instrument: lambda instrument: _of_instrument(instrument.pk),
    m.Calibration: lambda calibration: _of_instrument(calibration.channel.instrument_id),
    m.FieldCheck: lambda check: _of_instrument(check.channel.instrument_id),
    m.ClockCheck: lambda check: _of_instrument(check.instrument_id),
    m.ClockReset: lambda reset: _of_instrument(reset.instrument_id),
    m.Deployment: lambda deployment: Q(pk=deployment.campaign_id),
    m.Campaign: lambda campaign: Q(pk=campaign.pk),
    m.UseTimetable: _of_use,
    m.QualityRun: lambda run: Q(pk=run.campaign_id),
    m.RunInstrument: lambda member: Q(pk=member.run.campaign_id),
}

#: Of these rows only some fields matter to judging: not a zone's new name, nor how a room is drawn.
MATTERS: dict[type[Model], tuple[str, ...]] = {
    m.Building: ("place_kind",),
    m.Zone: ("place_kind",),
    m.Room: ("zone_id", "name"),  # it may have gone to another zone; sentences name it
    m.UseTimetable: ("hours", "origin"),
}


def touched_by(row: Model) -> list[int]:
    """Ids of the campaigns whose judgement rests on ``row``."""
    campaigns = m.Campaign.objects.filter(TOUCHES[type(row)](row))
    return list(campaigns.order_by("pk").values_list("pk", flat=True).distinct())


def say(sender: type[Model], instance: Model, raw: bool = False, **_: Any) -> None:
    """Receiver of post_save and post_delete. ``raw``: a fixture is being loaded, its rest is not there yet."""
    if not raw and getattr(instance, "is_other_matter", True) and (ids := touched_by(instance)):
        inputs_changed.send(sender, campaign_ids=ids)


def notice(sender: type[Model], instance: Any, raw: bool = False, **_: Any) -> None:
    """Receiver of pre_save: whether any of the fields in ``MATTERS`` becomes another."""
    names = MATTERS[sender]
    before = None if raw else sender._default_manager.filter(pk=instance.pk).values_list(*names).first()
    instance.is_other_matter = before != tuple(getattr(instance, name) for name in names)


def connect() -> None:
    for place in MATTERS:
        pre_save.connect(notice, sender=place, dispatch_uid=f"campaigns.receivers.matter.{place.__name__}")
    for model in TOUCHES:
        post_save.connect(say, sender=model, dispatch_uid=f"campaigns.receivers.saved.{model.__name__}")
        post_delete.connect(say, sender=model, dispatch_uid=f"campaigns.receivers.deleted.{model.__name__}")
