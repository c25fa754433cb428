"""The plain sentences at the head of a report: a building, or one zone of it, against one limit. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from methods.limits.model import LimitDefinition
from methods.quantities.substances import SUBSTANCES
from methods.wording.limits import threshold
from methods.wording.numbers import mid_sentence
from methods.wording.results import INDICATION

UNMEASURED, NOT_MEASURED = "unmeasured", "not measured"
#: How many zones a sentence names before it only counts.
NAMED = 4
#: Verdicts whose zones a sentence names.
TOLD = frozenset({"above", "below", "undecided"})
#: What concerns most is told first; what meets the limit opens the sentence.
ORDER = ("above", "undecided", "below", "not_comparable", UNMEASURED)


@dataclass(frozen=True, slots=True)
class LimitNamed:
    """What sentences say of a limit. name: of the parameter. bound: upper, lower or range. threshold: the number with
    its unit. statistic: what is compared with it."""

    name: str
    bound: str
    threshold: str
    statistic: str
    body: str
    edition: str
    in_force: bool


@dataclass(frozen=True, slots=True)
class ZoneVerdict:
    """What became of a zone. verdict: one of ``ORDER``; word: as printed. met: None while nobody can say. indicative:
    it is only an indication."""

    zone: str
    verdict: str
    word: str
    met: bool | None
    indicative: bool = False


def named(limit: LimitDefinition, on: date) -> LimitNamed:
    """``on``: the day on which it is said whether the limit is in force."""
    return LimitNamed(
        name=SUBSTANCES[limit.parameter].name,
        bound=limit.bound.value,
        threshold=threshold(limit),
        statistic=limit.statistic,
        body=limit.body,
        edition=limit.edition,
        in_force=limit.in_force_on(on),
    )


def order_of_concern(verdict: str, word: str) -> tuple[int, str]:
    """Sorts verdicts, the unmeasured last."""
    return ORDER.index(verdict), word


def sentence(limit: LimitNamed, found: Sequence[ZoneVerdict]) -> str:
    """ "In 6 of 9 zones formaldehyde was below the limit of 0.1 mg/m³ (…); above in 1 (Office); not measured in 2." And
    of which zones that is an indication."""
    met = sum(zone.met is True for zone in found)
    rest = []
    for verdict, word in _not_met(found):
        names = [zone.zone for zone in found if zone.word == word and zone.met is not True]
        whose = f" ({_listed(names)})" if verdict in TOLD else ""
        rest.append(f"{_short(word)} in {len(names)}{whose}")
    head = _head(limit, met, len(found))
    indications = [zone.zone for zone in found if zone.indicative]
    unsure = f" {INDICATION.capitalize()} only in {len(indications)} ({_listed(indications)})." if indications else ""
    return f"{head}{_joint(met, rest)}{'; '.join(rest)}.{unsure}"


def indications(count: int, of: int) -> str:
    """How many of several equal verdicts are only indications, to stand beside their number; "" for none."""
    if not count:
        return ""
    if count < of:
        return f"{count} of {of} {INDICATION}"
    return INDICATION if of == 1 else f"each {INDICATION}"


def needs(found: Sequence[ZoneVerdict]) -> str:
    """What follows for which zones, in a sentence or two; "" where every zone meets the limit."""
    failed = [zone.zone for zone in found if zone.met is False]
    undecided, unmeasured = (
        [zone.zone for zone in found if zone.verdict == verdict] for verdict in ("undecided", UNMEASURED)
    )
    said = [
        (failed, "needs action", "need action"),
        (undecided, "needs another measurement", "need another measurement"),
        (unmeasured, "was not measured", "were not measured"),
    ]
    parts = [
        f"{_counted(names)} {one if len(names) == 1 else many} ({_listed(names)})" for names, one, many in said if names
    ]
    return f"{'; '.join(parts)}." if parts else ""


def _counted(names: list[str]) -> str:
    return "1 zone" if len(names) == 1 else f"{len(names)} zones"


def _head(limit: LimitNamed, met: int, zones: int) -> str:
    """Nothing is said of "none below" where most zones could not be compared: the head then only names the limit."""
    issued = f"{limit.body} {limit.edition}".strip() + ("" if limit.in_force else ", not in force")
    which = f"({limit.statistic}; {issued})"
    how_many = "1 zone" if zones == 1 else f"{zones} zones"
    if met:
        return f"In {met} of {how_many} {mid_sentence(limit.name)} was {_met_words(limit)} {which}"
    return f"{limit.name} against the limit of {limit.threshold} {which}, in {how_many}"


def _joint(met: int, rest: list[str]) -> str:
    if not rest:
        return ""
    return "; " if met else ": "


def plain(limit: LimitNamed, verdict: str, word: str, *, indicative: bool = False) -> str:
    """One finding in a sentence without a measured number, and in another that it is only an indication."""
    return f"{_plain(limit, verdict, word)} This is {INDICATION} only." if indicative else _plain(limit, verdict, word)


def _plain(limit: LimitNamed, verdict: str, word: str) -> str:
    name = limit.name
    match verdict:
        case "undecided":
            return f"It could not be decided whether {mid_sentence(name)} is above the limit of {limit.threshold} here."
        case "not_comparable":
            return (
                f"{name} was measured here, but not in a way that can be compared with the limit of {limit.threshold}."
            )
        case "below" | "above":
            return f"{name} was {_against(limit, word)} here."
    return f"{name} was not measured here."


def _against(limit: LimitNamed, word: str) -> str:
    """ "below the limit of 0.1 mg/m³", "within the range 20 to 26 °C" """
    if limit.bound == "range":
        return f"{word} {limit.threshold}"
    return f"{word.replace(' limit', ' the limit') if ' the ' not in word else word} of {limit.threshold}"


def _met_words(limit: LimitNamed) -> str:
    match limit.bound:
        case "lower":
            return f"above the lower limit of {limit.threshold}"
        case "range":
            return f"within the range {limit.threshold}"
    return f"below the limit of {limit.threshold}"


def _not_met(found: Sequence[ZoneVerdict]) -> list[tuple[str, str]]:
    """(verdict, word) of what is not met, what concerns most first."""
    return sorted(
        {(zone.verdict, zone.word) for zone in found if zone.met is not True}, key=lambda v: order_of_concern(*v)
    )


def _short(word: str) -> str:
    return "above" if word == "above limit" else word


def _listed(names: list[str]) -> str:
    if len(names) <= NAMED:
        return ", ".join(names)
    return f"{', '.join(names[: NAMED - 1])} and {len(names) - NAMED + 1} more"
