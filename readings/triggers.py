"""Asking again where logs lie when an instrument's clock or deployments change."""

from __future__ import annotations

from typing import Any

from django.db.models.signals import post_delete, post_save

from campaigns.models import ClockCheck, ClockReset, Deployment, Instrument
from readings.services.doubts import ask_again


def clock_changed(instance: ClockCheck | ClockReset | Deployment, raw: bool = False, **_: Any) -> None:
    """``raw``: a fixture is being loaded, its rest is not there yet."""
    if not raw:
        ask_again(instance.instrument)


def instrument_changed(instance: Instrument, created: bool, raw: bool = False, **_: Any) -> None:
    if not (raw or created):
        ask_again(instance)


def connect() -> None:
    for model in (ClockCheck, ClockReset, Deployment):
        for signal in (post_save, post_delete):
            signal.connect(clock_changed, sender=model, dispatch_uid=f"readings.clock_changed.{model.__name__}")
    post_save.connect(instrument_changed, sender=Instrument, dispatch_uid="readings.instrument_changed")
