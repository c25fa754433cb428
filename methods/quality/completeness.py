"""How much of what was planned came to be valid. Pure."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Completeness:
    """Valid over planned, both counted alike: points, or milliseconds. Never more than all: what was measured beyond
    the plan makes up for nothing."""

    valid: float
    planned: float

    def __post_init__(self) -> None:
        if self.valid < 0 or self.planned < 0:
            raise ValueError("nothing is less than none")

    @property
    def share(self) -> float | None:
        """A fraction; None where nothing was planned."""
        return min(self.valid / self.planned, 1.0) if self.planned else None
