"""What is said of readings that do not go with those that are held already."""

from __future__ import annotations

from campaigns.models import Channel, ChannelSpec
from methods.logs.types import LogProblem
from methods.quantities.flags import words
from methods.quantities.moments import stamp_text
from readings.store import Clash, Loose
from readings.store.compare import APART, DIFFERING

Channels = list[Channel | None]


def clash_problem(clash: Clash, channels: Channels) -> LogProblem:
    spec = _spec(clash.channel_id, channels)
    return LogProblem(
        line=clash.line,
        column=spec.parameter_name,
        value=_as_stored(clash.new, clash.new_flag),
        code=DIFFERING,
        message=(
            f"{stamp_text(clash.stamp)} is already held with {_as_stored(clash.held, clash.held_flag)}, in {spec.unit} "
            f"(another file, line {clash.held_line}); this file says {_as_stored(clash.new, clash.new_flag)}. "
            "The held value stays."
        ),
    )


def loose_problem(loose: Loose, channels: Channels) -> LogProblem:
    stamp = stamp_text(loose.stamp)
    counted = f"This file has {_readings(loose.count)} of {stamp}, and {loose.held:,} are held"
    if loose.left_out:
        code, told = APART, f"{counted}. Their values do not tell how they follow each other"
        ends = f"so {loose.left_out:,} of this file were left out: hand in a file that holds the whole of this time."
    else:
        code, told = "held-alike", f"{counted}. Values that are alike leave open how many are the same"
        ends = "so as few as possible were added: hand in a file that holds the whole of this time to be sure."
    return LogProblem(loose.line, _spec(loose.channel_id, channels).parameter_name, stamp, code, f"{told}, {ends}")


def _readings(count: int) -> str:
    return "1 reading" if count == 1 else f"{count:,} readings"


def _spec(channel_id: int, channels: Channels) -> ChannelSpec:
    return next(c.spec for c in channels if c is not None and c.pk == channel_id)


def _as_stored(value: float, flag: int) -> str:
    """A value with what the logger said of it, so that two that differ look different."""
    number = "no value" if value != value else repr(value)
    said = ", ".join(words(flag))
    return f"{number} ({said})" if said else number
