"""What a result says of the outdoor air that goes with it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class OutdoorNotAsked:
    """An outdoor point itself, or a result without a value."""


@dataclass(frozen=True, slots=True)
class OutdoorMissing:
    """``missing``: why there is no outdoor value, in words."""

    missing: str


@dataclass(frozen=True, slots=True)
class OutdoorComparison:
    """Indoors beside outdoors. Figures in the unit of the limit, ``ratio`` without; ``u`` are standard uncertainties.

    ``value``: outdoors; ``words``: where, when and with what it was measured; ``deployments``: keys of those.
    ``indoor``: before anything was taken off. ``difference``: indoors less outdoors. ``ratio``: indoors over outdoors,
    None (and its text empty) where the outdoor value is not clear of zero. ``taken_off``: the result is the difference.
    ``text``, ``…_text``: the figure with U, and with its unit.
    """

    value: float
    u: float
    text: str
    words: str
    deployments: tuple[str, ...]
    indoor: float
    indoor_text: str
    difference: float
    u_difference: float
    difference_text: str
    ratio: float | None
    u_ratio: float | None
    ratio_text: str
    taken_off: bool


NOT_ASKED = OutdoorNotAsked()
OutdoorBeside = OutdoorComparison | OutdoorMissing | OutdoorNotAsked
