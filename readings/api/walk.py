"""The walk through a campaign's readings: instrument by instrument, channel by channel, as the logger stored them.

The order is that of what never changes of a reading: instrument, parameter, channel, stamp, nth. Times, places and
values are derived and may be corrected by a person in the middle of somebody's walk; still every reading is met once.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby
from typing import NamedTuple

import numpy as np

from campaigns.api.base import named
from campaigns.api.params import read_key
from campaigns.models import Channel, Deployment
from methods.quantities.arrays import Floats, Ints
from readings.api.ask import Ask
from readings.queries import Placed, placed_in

NTH_BITS = 16  # nth is a SmallIntegerField, with a sign; stamps need 41 bits in this century
MOST = 1 << NTH_BITS - 1


class WalkPosition(NamedTuple):
    """A reading's place in the walk. Keys, not ids: a cursor can be decoded by anyone."""

    instrument: str
    parameter: str
    spec: str
    stamp: int
    nth: int

    def to_text(self) -> str:
        return base64.urlsafe_b64encode("|".join(map(str, self)).encode()).decode()

    @classmethod
    def from_text(cls, text: str) -> WalkPosition:
        """Raises ValueError for anything that ``to_text`` did not write."""
        instrument, parameter, spec, stamp, nth = base64.urlsafe_b64decode(text.encode()).decode().split("|")
        place = cls(str(read_key(instrument)), parameter, str(read_key(spec)), int(stamp), int(nth))
        if not (abs(place.stamp) < 1 << 46 and -MOST <= place.nth < MOST):
            raise ValueError("out of range")
        return place


@dataclass(frozen=True, eq=False)
class ReadingTable:
    """Readings of one channel in the order of stamp and nth; arrays (n,). ``where`` leads into ``deployments``."""

    channel: Channel
    deployments: list[Deployment]
    where: Ints
    utc_ms: Ints
    stamp: Ints
    nth: Ints
    raw: Floats
    value: Floats
    flags: Ints
    upload_id: Ints
    line: Ints

    def __len__(self) -> int:
        return len(self.stamp)

    @property
    def order(self) -> Ints:
        return (self.stamp << NTH_BITS) + self.nth

    def rows(self, which: slice | Ints) -> ReadingTable:
        names = ("where", "utc_ms", "stamp", "nth", "raw", "value", "flags", "upload_id", "line")
        return replace(self, **{name: getattr(self, name)[which] for name in names})

    def after(self, place: WalkPosition) -> ReadingTable:
        passed = (place.stamp << NTH_BITS) + place.nth
        return self.rows(slice(int(np.searchsorted(self.order, passed, side="right")), None))

    def place(self, row: int) -> WalkPosition:
        spec = self.channel.spec
        key = str(self.channel.instrument.key)
        return WalkPosition(key, spec.parameter, str(spec.key), int(self.stamp[row]), int(self.nth[row]))


def tables(ask: Ask, after: WalkPosition | None = None) -> Iterator[ReadingTable]:
    """Everything asked for, from the reading after ``after`` on, one channel at a time; none of them empty."""
    reached = after[:3] if after else ("", "", "")
    for step, group in groupby(_channels(ask), key=lambda channel: _step(channel)[:2]):
        if step < reached[:2]:
            continue
        channels = [channel for channel in group if _step(channel) >= reached]
        blocks = list(_blocks(ask, channels))
        for channel in channels:
            table = _table(channel, [block for block in blocks if block.channel.pk == channel.pk])
            if table and after and _step(channel) == reached:
                table = table.after(after)
            if table:
                yield table


def _step(channel: Channel) -> tuple[str, str, str]:
    return str(channel.instrument.key), channel.spec.parameter, str(channel.spec.key)


def _channels(ask: Ask) -> list[Channel]:
    channels = named(ask.token, Channel).filter(instrument__in=ask.together).select_related("instrument", "spec")
    if ask.parameter:
        channels = channels.filter(spec__parameter=ask.parameter)
    return sorted(channels, key=_step)


def _blocks(ask: Ask, channels: list[Channel]) -> Iterator[Placed]:
    """The wanted readings of one instrument and one parameter, deployment by deployment."""
    if channels:
        deployments = ask.together[channels[0].instrument_id]
        parameter = channels[0].spec.parameter
        for block in placed_in(
            ask.campaign, parameter=parameter, deployments=deployments, start=ask.start, end=ask.end
        ):
            if block.deployment.pk in ask.wanted:
                yield block


def _table(channel: Channel, blocks: list[Placed]) -> ReadingTable | None:
    if not blocks:
        return None
    table = ReadingTable(
        channel=channel,
        deployments=[block.deployment for block in blocks],
        where=np.repeat(np.arange(len(blocks)), [len(block.stamp) for block in blocks]),
        utc_ms=np.concatenate([block.utc_ms for block in blocks]),
        stamp=np.concatenate([block.stamp for block in blocks]),
        nth=np.concatenate([block.nth for block in blocks]),
        raw=np.concatenate([block.raw for block in blocks]),
        value=np.concatenate([block.value for block in blocks]),
        flags=np.concatenate([block.flags for block in blocks]),
        upload_id=np.concatenate([block.upload_id for block in blocks]),
        line=np.concatenate([block.line for block in blocks]),
    )
    order = table.order
    return table if (order[1:] > order[:-1]).all() else table.rows(np.argsort(order, kind="stable"))
