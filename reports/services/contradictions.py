"""Checks that contradict the stated drift of an instrument, in words (docs/methods/correction.md)."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from zoneinfo import ZoneInfo

from campaigns.models import Channel
from methods.correction.drift import Period
from methods.correction.drift_uncertainty import CONTRADICTS, KINDS, Contradiction, contradictions
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

    def size(value: float) -> str:
        is_zero = contradiction.kind == "zero"
        return f"{plain(abs(value))} {channel.spec.unit}" if is_zero else f"{plain(100 * abs(value))} %"

    ends = "the calibration and the check" if contradiction.from_calibration else "the two checks"
    return (
        f"From {begun} to the check of {at} the {contradiction.kind} moved by {size(contradiction.change)}, more than "
        f"{size(contradiction.explained)}: that is {CONTRADICTS:.0f} · √(d² + r²), where d = "
        f"{size(contradiction.drift)} is the drift stated for its type over this time, and r = "
        f"{size(contradiction.known)} how well {ends} are known (rounding, reference)."
    )
