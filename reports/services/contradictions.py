"""Checks that contradict the certificate of an instrument, in words (docs/methods/correction.md)."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from zoneinfo import ZoneInfo

from campaigns.models import Channel
from methods.correction.drift import Period
from methods.correction.drift_uncertainty import KINDS, Contradiction, contradictions
from methods.correction.facts import ChannelFacts
from methods.quantities.moments import utc_moment
from methods.wording.numbers import minute, plain


def contradiction_words(
    channel: Channel, periods: Sequence[Period], facts: ChannelFacts, zone: ZoneInfo
) -> list[tuple[int, str]]:
    """A sentence for each with the UTC ms of its check, in order of time."""
    told = [
        (contradiction.at_ms, _words(channel, contradiction, zone))
        for kind in KINDS
        for contradiction in contradictions(periods, kind, facts)
    ]
    return sorted(told)


def _words(channel: Channel, contradiction: Contradiction, zone: ZoneInfo) -> str:
    when = partial(minute, zone=zone)
    at, since = (when(utc_moment(ms)) for ms in (contradiction.at_ms, contradiction.since_ms))
    begun = f"the calibration of {since[:10]}" if contradiction.from_calibration else f"the check of {since}"
    if contradiction.kind == "zero":
        change, allowed = (
            f"{plain(abs(x))} {channel.spec.unit}" for x in (contradiction.change, contradiction.allowed)
        )
    else:
        change, allowed = (f"{plain(100 * abs(x))} %" for x in (contradiction.change, contradiction.allowed))
    return (
        f"From {begun} to the check of {at} the {contradiction.kind} moved by {change}: "
        f"the certificate allows {allowed}."
    )
