"""What follows where something is saved: asking again where logs lie, and having campaigns judged again."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models.signals import post_delete, post_save, pre_delete, pre_save

from campaigns.models import AlertLevel, ClockCheck, ClockReset, Deployment, Instrument
from campaigns.signals import inputs_changed
from readings.models import ClockLag, SavedLayout
from readings.services.affected_campaigns import fed_by
from readings.services.alerts.looking import ask_to_look
from readings.services.clock_review import ask_again
from readings.services.lag_comparison import compare_again


def clock_changed(instance: ClockCheck | ClockReset | Deployment, raw: bool = False, **_: Any) -> None:
    """``raw``: a fixture is being loaded, its rest is not there yet."""
    if not raw:
        ask_again(instance.instrument)


def instrument_changed(instance: Instrument, created: bool, raw: bool = False, **_: Any) -> None:
    if not (raw or created):
        ask_again(instance)


def layout_noticed(instance: Any, raw: bool = False, **_: Any) -> None:
    """Before it is saved: whether what a stored value stands for becomes another."""
    before = None if raw else SavedLayout.objects.filter(pk=instance.pk).values_list("represents", flat=True).first()
    instance.stands_for_other = before is not None and before != instance.represents


def layout_changed(instance: Any, **_: Any) -> None:
    if instance.stands_for_other and (campaigns := fed_by(instance.uploads.all())):
        inputs_changed.send(SavedLayout, campaign_ids=campaigns)


def layout_deleted(instance: SavedLayout, **_: Any) -> None:
    """While its files still know it: for them the instrument type has the word again."""
    if instance.represents and (campaigns := fed_by(instance.uploads.all())):
        inputs_changed.send(SavedLayout, campaign_ids=campaigns)


def readings_changed(sender: Any, campaign_ids: Iterable[int], **_: Any) -> None:
    """Not where the logs themselves, or what a person said of them, is what changed."""
    if sender is not ClockLag:
        compare_again(campaign_ids)


def alerts_may_differ(sender: Any, campaign_ids: Iterable[int], **_: Any) -> None:
    ask_to_look(campaign_ids)


def level_changed(instance: AlertLevel, raw: bool = False, **_: Any) -> None:
    """Also readings that are there already may have reached it."""
    if not raw:
        ask_to_look([instance.campaign_id])


def connect() -> None:
    inputs_changed.connect(alerts_may_differ, dispatch_uid="readings.alerts_may_differ")
    inputs_changed.connect(readings_changed, dispatch_uid="readings.readings_changed")
    post_save.connect(level_changed, sender=AlertLevel, dispatch_uid="readings.level_changed")
    for model in (ClockCheck, ClockReset, Deployment):
        for signal in (post_save, post_delete):
            signal.connect(clock_changed, sender=model, dispatch_uid=f"readings.clock_changed.{model.__name__}")
    post_save.connect(instrument_changed, sender=Instrument, dispatch_uid="readings.instrument_changed")
    pre_save.connect(layout_noticed, sender=SavedLayout, dispatch_uid="readings.layout_noticed")
    post_save.connect(layout_changed, sender=SavedLayout, dispatch_uid="readings.layout_changed")
    pre_delete.connect(layout_deleted, sender=SavedLayout, dispatch_uid="readings.layout_deleted")
