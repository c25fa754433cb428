"""What a person said about a place where the clock seems to have been set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: What tells one place from another: two neighbouring stamps, or what was shown at two clock checks.
Place = tuple[int, int]


@dataclass(frozen=True, slots=True)
class ResetAnswer:
    """The answer at ``place``.

    ``right-after``: the clock was right from here on; ``right-before``: up to here; ``set``: it was set, and checks say
    how far off it is; ``not-set``: the lines are in no order of time, and nothing is cut. ``by_ms``: how far the clock
    was put back, negative for forward, None for unknown. ``last_shown_ms``: for a jump between two checks, the last
    time shown before the clock was set, None where nobody knows.
    """

    place: Place
    answer: Literal["right-after", "right-before", "set", "not-set"]
    by_ms: int | None = None
    last_shown_ms: int | None = None
