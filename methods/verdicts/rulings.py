"""How far a comparison carries, and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class ComparabilityState(IntEnum):
    """How far a comparison carries; the smaller of two governs."""

    NO = 0
    INDICATIVE = 1
    YES = 2

    @property
    def word(self) -> str:
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Reason:
    """Why, as a stable code and in words for people."""

    code: str
    words: str


Ruling = tuple[ComparabilityState, Reason]
