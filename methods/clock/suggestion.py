"""What a meter's clock was off by, told from when it logged and when it was deployed.

Method: docs/methods/clock.md#suggestion.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from methods.clock.folds import newest_first
from methods.clock.overlap import Spans, best_candidates, placed_by
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS

WINDOW_MS = 26 * 60 * MINUTE_MS  # a wrong day plus daylight saving and a badly set clock
SILENT_BELOW = 0.2


@dataclass(frozen=True, slots=True)
class Candidate:
    offset_ms: int
    score_ms: float
    matched: int


@dataclass(frozen=True, slots=True)
class Suggestion:
    """``offset_ms`` = true − shown (positive: the clock is slow); None when nothing can be compared.

    ``matched`` of ``total`` bursts then lie by more than half inside a deployment. ``confidence`` is 0…1; below 0.2
    show ``runners_up`` and ask for a clock check.
    """

    offset_ms: int | None
    confidence: float
    matched: int
    total: int
    runners_up: tuple[Candidate, ...]
    sentence: str

    @property
    def speaks(self) -> bool:
        """Whether it is fit to be put to a person as a suggestion."""
        return self.offset_ms is not None and self.confidence >= SILENT_BELOW


def bursts(stamps_ms: npt.ArrayLike, interval_ms: int) -> Ints:
    """Stretches of unbroken logging, shape (k, 2): start, and end = last stamp + one interval, in the stamps' own time.

    A gap of more than 3 intervals, or a step back of the clock, starts a new one (docs/methods/clock.md). Stamps of one
    file, in file order; one that lists its latest reading first is read from its end.
    """
    stamps = np.asarray(stamps_ms, dtype=np.int64)
    if stamps.size == 0:
        return np.empty((0, 2), dtype=np.int64)
    if newest_first(stamps):
        stamps = stamps[::-1]
    steps = np.diff(stamps)
    cuts = np.flatnonzero((steps > 3 * interval_ms) | (steps < 0)) + 1
    starts = np.concatenate(([0], cuts))
    ends = np.concatenate((cuts, [stamps.size])) - 1
    return np.column_stack((stamps[starts], stamps[ends] + interval_ms))


def suggest_offset(bursts: npt.ArrayLike, deployments_utc: npt.ArrayLike, interval_ms: int = MINUTE_MS) -> Suggestion:
    """The offset (true − shown) within ±26 h that best lays ``bursts`` (n, 2) on ``deployments_utc`` (m, 2).

    Bursts are in UTC by the clock's basis, uncorrected: add the offset to get true time. Score of a candidate
    d = deployment start − burst start: Σ overlap − ½ Σ burst time outside every deployment.
    """
    logged = Spans(np.asarray(bursts, dtype=np.int64).reshape(-1, 2))
    planned = np.asarray(deployments_utc, dtype=np.int64).reshape(-1, 2)
    total = len(logged.edges)
    if total == 0 or len(planned) == 0:
        return Suggestion(None, 0.0, 0, total, (), "There is nothing to compare: no bursts or no deployments.")
    apart = _apart(logged, interval_ms)
    union = Spans(planned).union()
    shifts, overlaps = best_candidates(logged, union, np.sort(planned[:, 0]), WINDOW_MS, apart)
    if shifts.size == 0:
        return Suggestion(None, 0.0, 0, total, (), "No offset within 26 h lays a burst on a deployment.")
    time = int((logged.edges[:, 1] - logged.edges[:, 0]).sum())
    scores = (1.5 * overlaps - 0.5 * time).astype(np.float64)
    picks = [
        Candidate(int(shifts[i]), float(scores[i]), placed_by(logged, union, int(shifts[i])))
        for i in _tops(shifts, scores, apart)
    ]
    return _judge(picks, total, time)


def fit_at(bursts: npt.ArrayLike, deployments_utc: npt.ArrayLike, offset_ms: int = 0) -> tuple[int, float]:
    """At an offset: how many of ``bursts`` (n, 2) lie by more than half inside a deployment (m, 2), and which share of
    all their time does. ``deployments_utc`` may overlap; without any, nothing lies inside."""
    logged = Spans(np.asarray(bursts, dtype=np.int64).reshape(-1, 2))
    planned = np.asarray(deployments_utc, dtype=np.int64).reshape(-1, 2)
    time = int((logged.edges[:, 1] - logged.edges[:, 0]).sum())
    if time == 0 or len(planned) == 0:
        return 0, 0.0
    union = Spans(planned).union()
    starts, ends = (logged.edges + offset_ms).T
    inside = int((union.covered(ends) - union.covered(starts)).sum())
    return placed_by(logged, union, offset_ms), inside / time


def _apart(logged: Spans, interval_ms: int) -> int:
    """How far a shift must be to lay the bursts differently: half a burst, at least one interval.

    Field staff start the meter a little before or after they tap "start", each time another little. Shifts within
    that scatter tell the same story and are no rivals: counted as such, they silence every suggestion.
    """
    return max(interval_ms, int(np.median(logged.edges[:, 1] - logged.edges[:, 0])) // 2)


def _tops(shifts: Ints, scores: Floats, apart_ms: int, most: int = 5) -> list[int]:
    """Indices of the highest scores, each further than ``apart_ms`` from those before; ties go to the smaller shift."""
    order = np.lexsort((np.abs(shifts), -scores))
    tops: list[int] = []
    while order.size and len(tops) < most:
        tops.append(int(order[0]))
        order = order[np.abs(shifts[order] - shifts[order[0]]) > apart_ms]
    return tops


def _judge(picks: list[Candidate], total: int, time_ms: int) -> Suggestion:
    """Confidence: lead over the best rival, as a share of the score were every burst on a deployment.

    A share of the perfect score, not of the best: where nothing fits, the best is a small number and any lead is a
    large part of it. One matched burst proves nothing, since any burst can be laid on some deployment.
    """
    best, rivals = picks[0], tuple(picks[1:])
    rival = max([0.0, *(candidate.score_ms for candidate in rivals)])
    confidence = max(0.0, best.score_ms - rival) / time_ms if best.matched > 1 else 0.0
    return Suggestion(best.offset_ms, confidence, best.matched, total, rivals, _sentence(best, total, confidence))


def _sentence(best: Candidate, total: int, confidence: float) -> str:
    fit = f"{best.matched} of {total} bursts then {'falls' if best.matched == 1 else 'fall'} on their deployments"
    if confidence < SILENT_BELOW:
        return f"No offset stands out. The best would be {spoken(best.offset_ms)}: {fit}. Please enter a clock check."
    if abs(best.offset_ms) < MINUTE_MS:
        return f"The meter's clock looks right to the minute; {fit}."
    return f"The meter's clock looks {spoken(best.offset_ms)}; {fit}."


def spoken(offset_ms: int) -> str:
    """An offset in words, to the minute: ``61 min slow`` for +61 min, ``5 h 30 min fast`` for −330 min."""
    minutes = round(abs(offset_ms) / MINUTE_MS)
    if minutes == 0:
        return "right"
    hours, rest = divmod(minutes, 60)
    length = f"{minutes} min" if minutes < 120 else f"{hours} h" + (f" {rest} min" if rest else "")
    return f"{length} {'slow' if offset_ms > 0 else 'fast'}"
