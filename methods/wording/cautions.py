"""Cautions, short, for the place where a decision is made (docs/methods/wording.md#cautions)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from methods.quantities.substances import SUBSTANCES, name_of

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


#: By parameter, the alert levels of a campaign in words: ``above 2 ppm as mean of 15 min``.
Levels = Mapping[str, Sequence[str]]
NO_LEVELS: Levels = {}


def cautions(parameters: Iterable[str], *, workplace: bool = False, levels: Levels = NO_LEVELS) -> list[str]:
    """What must be said beside findings on these parameters; an alert level is named only where one is set."""
    codes = [code for code in parameters if code in SUBSTANCES]
    first = list(dict.fromkeys(filter(None, (SUBSTANCES[code].caution for code in codes))))
    of_levels = level_cautions({code: levels[code] for code in sorted(codes) if code in levels})
    return [*first, *of_levels, *FINDINGS, *([WORKPLACE] if workplace else [])]


def level_cautions(levels: Levels) -> list[str]:
    """A sentence for each parameter that has an alert level."""
    return [
        f"Alert level of this campaign for {name_of(code).lower()}: {', or '.join(words)}. Once it is reached: leave, "
        "ventilate, and follow the local emergency rules."
        for code, words in levels.items()
        if words
    ]
