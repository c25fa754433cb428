"""Confirming what bursts say of a clock: it becomes a clock check with its history, and can be withdrawn."""

from __future__ import annotations

from campaigns.models import ClockCheck, User
from campaigns.services import clock_checks
from methods.clock import Candidate, spoken
from methods.quantities.moments import utc_moment
from readings.queries.bursts import Laid, Stretch


class NotOffered(Exception):
    """The offset is none of those that the bursts give now: what they were laid on has changed."""


def offered(stretch: Stretch) -> list[Candidate]:
    """The suggestion and its runners-up, best first; empty where there is nothing to compare."""
    suggestion = stretch.suggestion
    if suggestion.offset_ms is None:
        return []
    return [Candidate(suggestion.offset_ms, 0.0, suggestion.matched), *suggestion.runners_up]


def confirm(laid_log: Laid, stretch: Stretch, offset_ms: int, person: User) -> ClockCheck:
    """Keep an offset that bursts give as a clock check at one of them. Raises NotOffered; ValidationError if there is
    a check at that very time already."""
    chosen = next((offer for offer in offered(stretch) if offer.offset_ms == offset_ms), None)
    if chosen is None:
        raise NotOffered
    assert laid_log.upload.instrument is not None
    k = _anchor(laid_log, stretch)
    return clock_checks.make(
        laid_log.upload.instrument,
        at=utc_moment(int(stretch.nominal[k, 0]) - stretch.middle_ms + offset_ms),
        shown_ms=int(stretch.bursts.first[k]),
        origin=ClockCheck.Origin.BURSTS,
        note=_note(laid_log, stretch, chosen, person),
    )


def _note(laid_log: Laid, stretch: Stretch, chosen: Candidate, person: User) -> str:
    suggestion = stretch.suggestion
    best = chosen.offset_ms == suggestion.offset_ms
    how = f"confidence {suggestion.confidence:.2f}" if best else "a runner-up"
    fit = f"{chosen.matched} of {suggestion.total} bursts of “{laid_log.upload.filename[:80]}” on deployments"
    return f"{spoken(chosen.offset_ms).capitalize()}: {fit}, {how}. Confirmed by {str(person)[:80]}."


def _anchor(laid_log: Laid, stretch: Stretch) -> int:
    """The burst at which the check is put: one whose stamp lies in no other stretch, so that it speaks for this one."""
    others = [s for s in laid_log.stretches if s is not stretch]
    for k, first in enumerate(stretch.bursts.first.tolist()):
        if not any(s.bursts.first.min() <= first <= s.bursts.last.max() for s in others):
            return k
    return 0
