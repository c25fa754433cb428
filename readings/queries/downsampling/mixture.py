"""Readings of one channel, some read and some known by the extremes of their part, until no part is read too few.

Each part that is not read gives four rows: its first and last reading, so that the clock and gaps are seen as if all
were there, and its lowest and highest. See :mod:`readings.queries.downsampling.long_deployments`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from campaigns.models import Channel, Deployment
from methods.correction import Chain
from methods.placing import is_same_interval, typical_interval_ms
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.flags import EXCLUDES
from methods.quantities.gaps import BRIDGED_INTERVALS
from methods.quantities.moments import utc_ms
from readings.queries.downsampling.plain_blocks import CERTAIN, StampWindow, Unsure, laid_out
from readings.queries.envelopes import HeldParts
from readings.queries.placed import Derived, PlacingTask, derived
from readings.queries.rows import ROW, Rows, rows_of
from readings.queries.stamp_ranges import merged

#: So many readings of a deployment and fewer are all read: in two seconds of a year's figure they are.
MANY = 20_000
MOST_RANGES = 2_000
ROUNDS = 8
FIRST, LOW, HIGH, LAST, READ = range(5)
NAMES = {FIRST: ("first", None), LOW: ("low_stamp", "low_nth"), HIGH: ("high_stamp", "high_nth"), LAST: ("last", None)}


@dataclass(frozen=True, eq=False)
class Few:
    """Some readings of one deployment and channel in UTC order; arrays (n,), values corrected, in the channel's unit.

    ``drawn``: readings to be shown, with their own value and flags; the others only mark where a part begins and
    ends. ``gap_ms``: since the reading before it, also where that one is not among these. ``stands_for``: of how many
    readings; in the window that was asked for they add up to all. ``last_ms``: the last reading of all.
    """

    deployment: Deployment
    channel: Channel
    interval_ms: int
    last_ms: int
    utc_ms: Ints
    value: Floats
    flags: Ints
    gap_ms: Ints
    stands_for: Ints
    drawn: Bools


@dataclass(eq=False)
class Mixture:
    """``parts`` (k,) of which those marked in ``read`` are read: their readings are in ``rows``. ``near``: in or about
    the window; of the others only first and last reading matter."""

    asked: PlacingTask
    channel: Channel
    window: StampWindow
    interval_ms: int
    held: HeldParts
    near: Bools
    read: Bools
    rows: list[Rows] = field(default_factory=list)

    @classmethod
    def of(cls, asked: PlacingTask, channel: Channel, window: StampWindow) -> Mixture:
        """Raises Unsure."""
        interval, parts, near, read = laid_out(asked, channel, window)
        mixture = cls(asked, channel, window, interval, parts, near, np.zeros(len(parts), dtype=np.bool_))
        mixture.read_too(read)
        return mixture

    def read_too(self, more: Bools) -> None:
        self.read |= more
        if self.held.parts["count"][self.read].sum() > self.held.parts["count"].sum() / 2:
            raise Unsure
        at = np.flatnonzero(more)
        if not len(at):
            return
        parts = self.held.parts
        ranges = merged(np.column_stack((parts["first"][at], parts["last"][at])))
        pieces = [
            (self.channel.pk, max(first, low), min(last, high))
            for first, last in ranges.tolist()
            for low, high in self.asked.reaches
            if first <= high and low <= last
        ]
        if len(pieces) > MOST_RANGES:
            raise Unsure
        self.rows += list(rows_of(pieces))

    def few(self) -> list[Few]:
        """By deployment, those with readings in the window. Raises Unsure."""
        for _ in range(ROUNDS):
            mixed = Mixed.of(self)
            more = mixed.not_plain()
            if not more.any():
                intervals = {k: mixed.interval_in(k) for k in mixed.shown_in()}
                more = mixed.interrupted(intervals) | mixed.beyond()
            if not more.any():
                if not all(is_same_interval(own, self.interval_ms) for own in intervals.values()):
                    raise Unsure  # a visit that is logged otherwise may be derived by its own interval
                return [mixed.few(k, interval_ms) for k, interval_ms in intervals.items()]
            self.read_too(more)
        raise Unsure


@dataclass(eq=False)
class Mixed:
    """What is known of a mixture, derived. ``part`` (n,): of which part a row is, −1 for one that was read; ``role``
    (n,): which of its rows. ``at`` (4, k): where the rows of each part are, −1 of none."""

    of_it: Mixture
    got: Derived
    part: Ints
    role: Ints
    at: Ints

    @classmethod
    def of(cls, mixture: Mixture) -> Mixed:
        mixed_rows, part, role, line = _rows(mixture)
        order = np.lexsort((line, mixed_rows["upload_id"]))
        unbroken = (role == LOW) | (role == HIGH) | (role == LAST)
        got = derived(mixture.asked, mixture.channel, mixed_rows[order], mixture.interval_ms, unbroken[order])
        if not isinstance(got.conventions, str):  # files that say different things of their stamps
            raise Unsure
        part, role = part[order][got.order], role[order][got.order]
        at = np.full((READ + 1, len(mixture.held)), -1)
        at[role, part] = np.arange(len(part))
        return cls(mixture, got, part, role, at[:READ])

    @property
    def ends(self) -> tuple[Ints, Ints]:
        """UTC ms (k,) of the first and the last reading of each part; nonsense for those that were read."""
        return self.got.utc_ms[self.at[FIRST]], self.got.utc_ms[self.at[LAST]]

    @property
    def where(self) -> tuple[Ints, Ints]:
        """(k,): in which deployments the two are, −1 in none and of what was read."""
        unread = ~self.of_it.read
        first, last = (np.where(unread, self.got.where[self.at[role]], -1) for role in (FIRST, LAST))
        return first, last

    @property
    def scale(self) -> Floats:
        """(k,): how much longer than by the clock's own time a part lasted."""
        parts = self.of_it.held.parts
        first, last = self.ends
        lasted = parts["last"] - parts["first"]
        return np.where(lasted > 0, (last - first) / np.maximum(lasted, 1), 1.0)

    def joined(self, rows: Ints) -> Bools:
        """(n,): whether a row and the one before it are of one part that was not read."""
        part = self.part[rows]
        return np.append([False], (part[1:] == part[:-1]) & (part[1:] >= 0))

    def interval_in(self, k: int) -> int:
        """The typical interval in a deployment, as all its readings would tell."""
        rows = np.flatnonzero(self.got.where == k)
        first, last = self.where
        here = (first == k) | (last == k)
        usual = self.of_it.interval_ms
        if not here.any():
            return typical_interval_ms(self.got.utc_ms[rows]) or usual
        steps = np.diff(self.got.utc_ms[rows])[~self.joined(rows)[1:]]
        steps = steps[steps > 0]
        whole = here & (first == last)
        parts = self.of_it.held.parts
        exact = parts["step"] * self.scale
        near = np.rint(exact)
        share = parts["steady"] * (1 - np.abs(exact - near)) - (exact != near)
        lengths, which = np.unique(np.concatenate((steps, near[whole].astype(np.int64))), return_inverse=True)
        sums = np.bincount(which, np.concatenate((np.ones(len(steps)), share[whole])))
        if sums.max() <= CERTAIN * (len(steps) + parts["rises"][here].sum()):
            raise Unsure
        return int(lengths[np.argmax(sums)])

    @property
    def concerned(self) -> Bools:
        """(k,): parts not read that reach into the window."""
        first, last = self.ends
        window, of_it = self.of_it.window, self.of_it
        shown: Bools = ~of_it.read & of_it.near & (last >= window.low) & (first < window.high)
        return shown

    def not_plain(self) -> Bools:
        """(k,): parts of which not every reading counts in the same way, or that are among few in the window."""
        of_it, parts = self.of_it, self.of_it.held.parts
        (first, last), (begins, ends) = self.where, self.ends
        edges, pad = _edges(of_it, self.got.corrected.chain), of_it.interval_ms
        across = np.searchsorted(edges, begins - pad) < np.searchsorted(edges, ends + pad, "right")
        across = (across | (first != last)) & of_it.near & ~of_it.read
        inside = self.concerned & (first >= 0)
        flagged = ((self.got.corrected.flags[self.at] & int(EXCLUDES)) != 0).any(axis=0)
        counts = np.bincount(
            self.got.where[self.shown & (self.part < 0) & (self.got.where >= 0)], minlength=len(of_it.asked.deployments)
        )
        np.add.at(counts, first[inside], parts["count"][inside].astype(np.int64))
        not_plain: Bools = across | inside & (flagged | (counts[first] <= MANY))
        return not_plain

    def shown_in(self) -> list[int]:
        """Deployments with readings in the window."""
        parts_shown: list[int] = np.unique(self.got.where[self.shown & (self.got.where >= 0)]).tolist()
        return parts_shown

    def interrupted(self, intervals: dict[int, int]) -> Bools:
        """(k,): parts in the window inside of which a line would break."""
        first, _ = self.where
        interrupted = np.zeros(len(first), dtype=np.bool_)
        scale = self.scale
        slack = np.where(scale == 1, 0, 2)
        for k, interval_ms in intervals.items():
            long = self.of_it.held.parts["gap"] * scale + slack > BRIDGED_INTERVALS * interval_ms
            interrupted |= self.concerned & (first == k) & long
        return interrupted

    def beyond(self) -> Bools:
        """(k,): parts in the window whose values may reach beyond the lowest and the highest that are known."""
        parts, corrected = self.of_it.held.parts, self.got.corrected
        first, _ = self.where
        inside = self.concerned & (first >= 0)
        beyond = np.zeros(len(parts), dtype=np.bool_)
        for k in np.unique(first[inside]):
            rows = np.flatnonzero((self.got.where == k) & self.shown)
            values = corrected.value[rows][(corrected.flags[rows] & int(EXCLUDES)) == 0]
            values = values[np.isfinite(values)]
            here = np.flatnonzero(inside & (first == k))
            for role in (FIRST, LAST):
                at = self.at[role][here]
                zero, span = corrected.zero[at], corrected.span[at]
                slope, intercept = corrected.slope[at], corrected.intercept[at]
                shown = (parts[f"{of}_raw"][here] * corrected.chain.factor for of in ("low", "high"))
                low, high = ((raw - zero) / span * slope + intercept for raw in shown)
                beyond[here] |= (low < values.min(initial=np.inf)) | (high > values.max(initial=-np.inf))
        return beyond

    @property
    def drawn(self) -> Bools:
        """(n,): rows that are readings with a value of their own, each of them once."""
        low = self.got.rows["stamp"][self.at[LOW]], self.got.rows["nth"][self.at[LOW]]
        part = np.maximum(self.part, 0)
        again = (self.got.rows["stamp"] == low[0][part]) & (self.got.rows["nth"] == low[1][part])
        drawn: Bools = (self.role == READ) | (self.role == LOW) | ((self.role == HIGH) & ~again)
        return drawn

    @property
    def shown(self) -> Bools:
        """(n,): those drawn that lie in the window."""
        times, window = self.got.utc_ms, self.of_it.window
        shown: Bools = self.drawn & (times >= window.low) & (times < window.high)
        return shown

    def few(self, k: int, interval_ms: int) -> Few:
        rows = np.flatnonzero(self.got.where == k)
        times = self.got.utc_ms[rows]
        role = self.role[rows]
        counts = self.of_it.held.parts["count"][np.maximum(self.part[rows], 0)].astype(np.int64)
        return Few(
            deployment=self.of_it.asked.deployments[k],
            channel=self.of_it.channel,
            interval_ms=interval_ms,
            last_ms=int(times[-1]),
            utc_ms=times,
            value=self.got.corrected.value[rows],
            flags=self.got.corrected.flags[rows].astype(np.int64),
            gap_ms=np.where(self.joined(rows), 0, np.diff(times, prepend=times[:1])),
            stands_for=np.where(role == READ, 1, np.where(role == LOW, counts, 0)),
            drawn=self.drawn[rows],
        )


def _rows(mixture: Mixture) -> tuple[Rows, Ints, Ints, Floats]:
    """Rows (n,) in the order of keys, not yet of files; part, role, and line (n,), between lines where it is not known.

    A row that only marks an end has the value of the lowest reading: any will do.
    """
    several, part, role, line = [], [], [], []
    parts = mixture.held.parts
    for which, (stamp, nth) in NAMES.items():
        at = np.flatnonzero(~mixture.read & (mixture.near | (which in (FIRST, LAST))))
        found = np.zeros(len(at), dtype=ROW)
        found["stamp"], found["upload_id"] = parts[stamp][at], mixture.held.upload[at]
        found["nth"] = parts[nth][at] if nth else 0
        found["raw"] = parts["high_raw" if which == HIGH else "low_raw"][at]
        first, first_line = parts["first"][at], parts["first_line"][at].astype(np.float64)
        share = (found["stamp"] - first) / np.maximum(parts["last"][at] - first, 1)
        several.append(found)
        part.append(at)
        role.append(np.full(len(at), which))
        line.append(first_line + share * (parts["last_line"][at] - first_line))
    for found in mixture.rows:
        several.append(found)
        part.append(np.full(len(found), -1))
        role.append(np.full(len(found), READ))
        line.append(found["line"].astype(np.float64))
    return np.concatenate(several), np.concatenate(part), np.concatenate(role), np.concatenate(line)


def _edges(mixture: Mixture, chain: Chain) -> Ints:
    """UTC ms, in order, at which it changes how a reading is corrected, or whether it counts or is asked for."""
    asked = mixture.asked
    edges = [mixture.window.low, mixture.window.high, *asked.spans.ravel().tolist()]
    edges += [check.at_utc_ms for check in chain.checks]
    edges += [line.valid_from_utc_ms for line in chain.calibrations]
    for deployment in asked.deployments:
        if deployment.switched_on_at:
            on = utc_ms(deployment.switched_on_at)
            edges += [on, on + round(1000 * chain.facts.warm_up_s)]
    return np.sort(np.array(edges, dtype=np.int64))
