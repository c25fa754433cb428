"""The plain sentences at the head of a report, and the counts behind them, from the frozen zones."""

from __future__ import annotations

from collections import Counter
from typing import Any

from methods.wording.numbers import mid_sentence

UNMEASURED = "unmeasured"
#: How many zones a sentence names before it only counts.
NAMED = 4
#: Verdicts whose zones a sentence names.
TOLD = frozenset({"above", "below", "undecided"})
#: What concerns most is told first; what meets the limit opens the sentence.
ORDER = ("above", "undecided", "below", "not_comparable", UNMEASURED)

Json = dict[str, Any]


def tally(zones: list[Json], ref: str) -> list[Json]:
    """How many zones got which verdict: list of {verdict, word, count}, the unmeasured last."""
    counts = Counter((f["verdict"], f["word"]) for f in _findings(zones, ref))
    ranked = sorted(counts.items(), key=lambda item: (ORDER.index(item[0][0]), item[0][1]))
    return [{"verdict": verdict, "word": word, "count": count} for (verdict, word), count in ranked]


def sentence(criterion: Json, zones: list[Json]) -> str:
    """ "In 6 of 9 zones formaldehyde was below the limit of 0.1 mg/m³ (…); above in 1 (Office); not measured in 2." """
    found = [(zone["name"], _of(zone, criterion["ref"])) for zone in zones]
    met = sum(finding["met"] is True for _, finding in found)
    rest = []
    for word, verdict in _not_met(found):
        names = [zone for zone, finding in found if finding["word"] == word and finding["met"] is not True]
        whose = f" ({_named(names)})" if verdict in TOLD else ""
        rest.append(f"{_short(word)} in {len(names)}{whose}")
    head = _head(criterion, met, len(zones))
    return f"{head}{_joint(met, rest)}{'; '.join(rest)}."


def needs(criterion: Json, zones: list[Json]) -> str:
    """What follows for which zones, in a sentence or two; "" where every zone meets the limit."""
    found = [(zone["name"], _of(zone, criterion["ref"])) for zone in zones]
    failed = [zone for zone, finding in found if finding["met"] is False]
    told = {verdict: [zone for zone, f in found if f["verdict"] == verdict] for verdict in ("undecided", UNMEASURED)}
    said = [
        (failed, "needs action", "need action"),
        (told["undecided"], "needs another measurement", "need another measurement"),
        (told[UNMEASURED], "was not measured", "were not measured"),
    ]
    parts = [
        f"{_counted(names)} {one if len(names) == 1 else many} ({_named(names)})" for names, one, many in said if names
    ]
    return f"{'; '.join(parts)}." if parts else ""


def _counted(names: list[str]) -> str:
    return "1 zone" if len(names) == 1 else f"{len(names)} zones"


def _head(limit: Json, met: int, zones: int) -> str:
    """Nothing is said of "none below" where most zones could not be compared: the head then only names the limit."""
    issued = f"{limit['body']} {limit['edition']}".strip() + ("" if limit["in_force"] else ", not in force")
    which = f"({limit['statistic']}; {issued})"
    how_many = "1 zone" if zones == 1 else f"{zones} zones"
    if met:
        return f"In {met} of {how_many} {mid_sentence(limit['name'])} was {_met_words(limit)} {which}"
    return f"{limit['name']} against the limit of {limit['threshold']} {which}, in {how_many}"


def _joint(met: int, rest: list[str]) -> str:
    if not rest:
        return ""
    return "; " if met else ": "


def plain(criterion: Json, finding: Json) -> str:
    """One finding in a sentence without a measured number."""
    name, limit = criterion["name"], criterion["threshold"]
    match finding["verdict"]:
        case "undecided":
            return f"It could not be decided whether {mid_sentence(name)} is above the limit of {limit} here."
        case "not_comparable":
            return f"{name} was measured here, but not in a way that can be compared with the limit of {limit}."
        case "below" | "above":
            return f"{name} was {_against(criterion, finding['word'])} here."
    return f"{name} was not measured here."


def _against(criterion: Json, word: str) -> str:
    """ "below the limit of 0.1 mg/m³", "within the range 20 to 26 °C" """
    threshold = criterion["threshold"]
    if criterion["bound"] == "range":
        return f"{word} {threshold}"
    return f"{word.replace(' limit', ' the limit') if ' the ' not in word else word} of {threshold}"


def _met_words(limit: Json) -> str:
    match limit["bound"]:
        case "lower":
            return f"above the lower limit of {limit['threshold']}"
        case "range":
            return f"within the range {limit['threshold']}"
    return f"below the limit of {limit['threshold']}"


def _not_met(found: list[tuple[str, Json]]) -> list[tuple[str, str]]:
    """(word, verdict) of what is not met, what concerns most first."""
    words = {(f["word"], f["verdict"]) for _, f in found if f["met"] is not True}
    return sorted(words, key=lambda pair: (ORDER.index(pair[1]), pair[0]))


def _short(word: str) -> str:
    return "above" if word == "above limit" else word


def _named(names: list[str]) -> str:
    if len(names) <= NAMED:
        return ", ".join(names)
    return f"{', '.join(names[: NAMED - 1])} and {len(names) - NAMED + 1} more"


def _findings(zones: list[Json], ref: str) -> list[Json]:
    return [_of(zone, ref) for zone in zones]


def _of(zone: Json, ref: str) -> Json:
    found: Json = next(f for f in zone["findings"] if f["criterion"] == ref)
    return found
