"""What was found in a zone, in one sentence that stands on its own. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from methods.limits.model import LimitDefinition
from methods.quantities.digits import as_entered
from methods.quantities.substances import SUBSTANCES
from methods.verdicts import VERDICT_WORDS, Verdict
from methods.wording.numbers import probability
from methods.wording.results import LESS_OUTDOORS, NO_VALUE, OF_VISIT


@dataclass(frozen=True, slots=True)
class GoverningTold:
    """The result that speaks for a zone, as the sentence needs it.

    place, when, value: in words; when: "" without a window. words: the verdict, with the end of the limit that is
    meant. edge: that end, in ``unit``. p_above: probability that the true value is above it, None where it cannot be
    compared. why: the first reason, "" without one. of_visit: a mean of the visit and not what the limit asks for.
    points: how many measured points of the zone there are.
    """

    place: str
    when: str
    value: str
    unit: str
    verdict: Verdict
    words: str
    edge: float | None
    p_above: float | None
    why: str
    indicative: bool
    of_visit: bool
    less_outdoors: bool
    points: int


def statement(limit: LimitDefinition, told: GoverningTold) -> str:
    """ "Formaldehyde, worst 30-minute mean: 0.123 ± 0.021 mg/m³ at Office, centre, … Against …: above limit; …" """
    name = SUBSTANCES[limit.parameter].name
    if not told.when:
        return f"{name} at {told.place}: {NO_VALUE}. {told.why}"
    of = f", which governs among {told.points} points" if told.points > 1 else ""
    against = f"{limit.value_text()} ({limit.body} {limit.edition})".replace(" )", ")")
    statistic = OF_VISIT if told.of_visit else limit.statistic
    if told.less_outdoors:
        statistic += f" {LESS_OUTDOORS}"
    measured = f"{name}, {statistic}: {told.value} at {told.place}, {told.when}{of}"
    return f"{measured}. Against {against}: {_verdict(limit, told)}"


def _verdict(published: LimitDefinition, told: GoverningTold) -> str:
    """With the probability it rests on, or why there is none."""
    word = VERDICT_WORDS[told.verdict]
    if told.p_above is None:
        return f"{word}. {told.why}".strip()
    is_plain = told.words == word and published.tolerance is None
    limit = "the limit" if is_plain else f"{as_entered(told.edge)} {told.unit}"
    indication = f" As an indication only: {told.why}" if told.indicative else ""
    return (
        f"{told.words}; the probability that the true value is above {limit} is {probability(told.p_above)}."
        f"{indication}"
    )
