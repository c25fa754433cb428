"""Results that would be others by another clock: what is judged then is an indication.

Method: docs/methods/clock.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from methods.limits.model import Averaging, LimitDefinition, OutdoorRule
from methods.quantities.moments import utc_ms
from methods.verdicts.comparability import Reason
from readings.services.clock_standing import InstrumentClock
from reports.services.sampling_periods import SamplingPeriod


@dataclass(frozen=True, slots=True)
class ClockInDoubt:
    """``doubt``: a question is open, or the clock was never checked. ``moves_readings``: other readings would belong
    to the stay by another clock."""

    instrument: str
    doubt: str
    moves_readings: bool

    @property
    def said(self) -> list[object]:
        """For the digest."""
        return [self.instrument, self.doubt, self.moves_readings]

    def reason(self, limit: LimitDefinition) -> Reason | None:
        """Why the result is an indication; None where another time would change nothing of it."""
        if not (self.moves_readings or _asks_for_the_time(limit)):
            return None
        rests = "which readings belong to this visit" if self.moves_readings else "the time of day of its readings"
        if self.doubt == "open":
            return Reason(
                "clock_open", f"A question about the clock of {self.instrument} is open, and {rests} rests on it."
            )
        words = (
            f"Nobody checked the clock of {self.instrument}, its log alone does not show it right, and {rests} rests"
        )
        return Reason("clock_unchecked", f"{words} on it.")

    def reason_beside(self, limit: LimitDefinition) -> Reason | None:
        """The same of what was measured beside the stay: outdoors, or at other hours of the day."""
        if not _asks_for_the_time(limit):
            return None
        rests = "and what is set beside this visit rests on it."
        if self.doubt == "open":
            return Reason("clock_open_beside", f"A question about the clock of {self.instrument} is open, {rests}")
        return Reason("clock_unchecked_beside", f"Nobody checked the clock of {self.instrument}, {rests}")


def gravest(doubts: Iterable[ClockInDoubt | None]) -> ClockInDoubt | None:
    return max((doubt for doubt in doubts if doubt is not None), key=_weight, default=None)


def _asks_for_the_time(limit: LimitDefinition) -> bool:
    """Whether the same readings would mean something else an hour later: beside others of the day, or outdoors."""
    return limit.averaging is Averaging.DAY_READINGS or limit.outdoor_rule is not OutdoorRule.ABSOLUTE


def clock_in_doubt(stay: SamplingPeriod, clocks: Mapping[int, InstrumentClock]) -> ClockInDoubt | None:
    """The gravest doubt about any part of the stay. ``clocks``: of the instruments in doubt, by id."""
    said = []
    start, end = utc_ms(stay.parts[0].deployment.starts_at), stay.parts[-1].deployment.ends_at
    for part in stay.parts:
        clock = clocks.get(part.deployment.instrument_id)
        if clock is None or not len(part):
            continue
        first, last = int(part.utc_ms[0]), int(part.utc_ms[-1])
        if doubt := clock.standing.doubt(first, last):
            elsewhere = clock.elsewhere(part.deployment.point_id)
            moves = clock.standing.reaches_beyond(start, utc_ms(end) if end else last, elsewhere)
            said.append(ClockInDoubt(str(part.deployment.instrument), doubt, moves))
    return gravest(said)


def _weight(doubt: ClockInDoubt) -> tuple[bool, bool]:
    return doubt.moves_readings, doubt.doubt == "open"
