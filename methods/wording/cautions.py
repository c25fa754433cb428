"""Cautions, short, for the place where a decision is made (docs/methods/wording.md#cautions)."""

from __future__ import annotations

from collections.abc import Iterable

from methods.quantities.substances import SUBSTANCES

FINDINGS = (
    "A verdict compares what was measured with one published value. It is not a statement of safety.",
    "Results hold for the places, times and conditions measured.",
    "Direct-reading meters are for screening unless their method is validated for the purpose; alcohols, other "
    "aldehydes and steps of humidity can pass for formaldehyde.",
    "What follows from a finding is for a licensed or qualified professional to decide under the local code.",
)
WORKPLACE = (
    "Exposure at work is judged from samples worn by the person, by the law that applies; a reading in a room only "
    "indicates it."
)


def cautions(parameters: Iterable[str], *, workplace: bool = False) -> list[str]:
    """What must be said beside findings on these parameters."""
    own = (SUBSTANCES[code].caution for code in parameters if code in SUBSTANCES)
    first = list(dict.fromkeys(filter(None, own)))
    return [*first, *FINDINGS, *([WORKPLACE] if workplace else [])]
