"""When a series of readings reached an alert level, how high it went and for how long (docs/methods/alerts.md).

An alert errs to the safe side. A reading over range counts as above every level. Of a window that readings do not
cover, at the ends of a log or at a gap, the part that was measured speaks as soon as it is ``KNOWN_SHARE`` of it; less
than that speaks where it alone makes the mean of the whole window too high, whatever the rest was. A reading below
detection is above nothing. What a person excluded, and errors of the logger, do not count.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from methods.alerts.levels import AlertAveraging, AlertRule
from methods.averages.reach import MIN_COVERAGE
from methods.averages.series import Series
from methods.averages.windows import RollingMeans, rolling_means
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.durations import HOUR_MS, MINUTE_MS
from methods.quantities.flags import Flag

#: Project rule, no source: a quarter of the time is enough to tell somebody, where it would not be to judge.
KNOWN_SHARE = 0.25
#: What lies closer together than this, or than the window of the level, is one event (project rule, no source).
ONE_EVENT_MS = HOUR_MS
ALL_ABOVE = 1 - 1e-9  # a year of readings a second holds 3e7


def apart_ms(rule: AlertRule) -> int:
    """How far apart two stretches above a level must be to be two events."""
    return max(round(rule.minutes * MINUTE_MS), ONE_EVENT_MS)


@dataclass(frozen=True, slots=True)
class ReachedLevel:
    """One event: readings that reached a level, in the unit of the readings.

    ``reached_ms``: when it was first known, ms UTC: the reading, or the end of the first window that is too high.
    ``first``/``last``: positions in the series (both inclusive) of the readings it rests on, ``start_ms``/``end_ms``
    the time they stand for. ``highest``: the highest mean of a window, else the highest reading; ``is_at_least``: one
    was over range, so the truth may be higher. ``minutes``: how long readings were above the level, of a mean how long
    the windows above it reach. ``is_partial``: no window of the event was covered as a mean must be to be judged.
    """

    reached_ms: int
    start_ms: int
    end_ms: int
    first: int
    last: int
    highest: float
    is_at_least: bool
    minutes: float
    is_partial: bool


@dataclass(frozen=True, slots=True)
class _Found:
    """Per cell [n] whether it belongs to an event; per window [k] too high: its first and last cell, when it was known,
    the height to be told, and whether it is covered as for judging."""

    inside: Bools
    first: Ints
    last: Ints
    known_ms: Ints
    height: Floats
    covered: Bools


def reached(readings: Series, rule: AlertRule) -> list[ReachedLevel]:
    """The events in which ``readings`` (n,) reached ``rule``, whose value is in their unit; in order of time.

    Start and end of the series do not matter: the log may have begun too late and ended too early. O(n log n).
    """
    series = _as_looked_at(readings, rule)
    if series is None:
        return []
    above = (series.cells.low > rule.value) | series.cells.over
    match rule.averaging:
        case AlertAveraging.ANY:
            found = _single(series, above)
        case AlertAveraging.SUSTAINED:
            found = _sustained(series, rule, above)
        case AlertAveraging.MEAN:
            found = _means(series, rule)
    counts = found.inside if rule.averaging is AlertAveraging.MEAN else found.inside & above
    return [_event(series, found, counts, cells) for cells in _events(series, found.inside, rule)]


def _as_looked_at(readings: Series, rule: AlertRule) -> Series | None:
    """With room for a whole window before the first reading and after the last, and a value where the logger stored
    only that it was over range. None without readings."""
    over = (readings.flags & int(Flag.OVER_RANGE)) != 0
    value = np.where(np.isnan(readings.value) & over, rule.value, readings.value)
    if not len(value):
        return None
    room = round(rule.minutes * MINUTE_MS) + 2 * readings.interval_ms
    start, end = int(readings.utc_ms[0]) - room, int(readings.utc_ms[-1]) + room
    series = replace(readings, value=value, start_ms=start, end_ms=end)
    return series if len(series.cells.index) else None


def _single(series: Series, above: Bools) -> _Found:
    cells = series.cells
    at = np.flatnonzero(above)
    known = series.utc_ms[cells.index[at]]
    return _Found(above, at, at, known, cells.low[at], np.ones(len(at), np.bool_))


def _sustained(series: Series, rule: AlertRule, above: Bools) -> _Found:
    """Windows of that length in which no reading says otherwise: the mean of "above" as 1 and all else as 0 is 1."""
    told = np.full(len(series.value), np.nan)
    told[series.cells.index] = above
    flags = series.flags & ~int(Flag.BELOW_DETECTION)
    windows = rolling_means(replace(series, value=told, flags=flags), rule.minutes, KNOWN_SHARE)
    is_above = (windows.upper >= ALL_ABOVE) & (windows.coverage >= KNOWN_SHARE)
    return _of_windows(series, windows, is_above, None)


def _means(series: Series, rule: AlertRule) -> _Found:
    windows = rolling_means(series, rule.minutes, KNOWN_SHARE)
    enough = windows.coverage >= KNOWN_SHARE
    # of what is measured nothing can be less than none, so that a short peak may be enough for the whole window
    certain = windows.lower * windows.coverage > rule.value
    height = np.where(enough, windows.lower, windows.lower * windows.coverage)
    found = _of_windows(series, windows, (enough & (windows.lower > rule.value)) | certain, height)
    over = _single(series, series.cells.over)  # by itself: of a window around it nobody knows the mean
    return _Found(
        inside=found.inside | over.inside,
        first=np.concatenate([found.first, over.first]),
        last=np.concatenate([found.last, over.last]),
        known_ms=np.concatenate([found.known_ms, over.known_ms]),
        height=np.concatenate([found.height, np.full(len(over.first), -np.inf)]),
        covered=np.concatenate([found.covered, np.zeros(len(over.first), np.bool_)]),
    )


def _of_windows(series: Series, windows: RollingMeans, is_above: Bools, height: Floats | None) -> _Found:
    """``height`` (k,): of each window; None: the highest reading in the event is told."""
    cells = series.cells
    k = np.flatnonzero(is_above)
    first, last = windows.first[k], windows.last[k]
    edges = np.zeros(len(cells.index) + 1, np.int64)
    np.add.at(edges, first, 1)
    np.add.at(edges, last + 1, -1)
    inside: Bools = np.cumsum(edges)[:-1] > 0
    known = np.minimum(windows.end_ms[k], cells.hi[last])
    told = np.full(len(k), -np.inf) if height is None else height[k]
    return _Found(inside, first, last, known, told, windows.coverage[k] >= MIN_COVERAGE)


def _events(series: Series, inside: Bools, rule: AlertRule) -> list[Ints]:
    """The cells of each event: what is closer together than a window, or than an hour, is one."""
    at = np.flatnonzero(inside)
    if not len(at):
        return []
    apart = apart_ms(rule)
    gaps = series.cells.lo[at[1:]] - series.cells.hi[at[:-1]]
    return np.split(at, np.flatnonzero(gaps > apart) + 1)


def _event(series: Series, found: _Found, counts: Bools, at: Ints) -> ReachedLevel:
    cells, first, last = series.cells, int(at[0]), int(at[-1])
    here = (found.first >= first) & (found.last <= last)
    height = float(found.height[here].max())
    if not np.isfinite(height):
        height = float(cells.low[at][counts[at]].max())
    lengths = (cells.hi - cells.lo)[at][counts[at]]
    return ReachedLevel(
        reached_ms=int(found.known_ms[here].min()),
        start_ms=int(cells.lo[first]),
        end_ms=int(cells.hi[last]),
        first=int(cells.index[first]),
        last=int(cells.index[last]),
        highest=height,
        is_at_least=bool(cells.over[at].any()),
        minutes=float(lengths.sum()) / MINUTE_MS,
        is_partial=not bool(found.covered[here].any()),
    )
