"""What a revision says differently from the one before, from the two contents alone. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]
Place = tuple[str, str]  # key of the zone, code of the limit

#: Parts of a content that are not told finding by finding, and what they are called.
ELSEWHERE: tuple[tuple[str, str], ...] = (
    ("site", "The site's particulars"),
    ("client", "The client's name"),
    ("organisation", "The name of the consultancy"),
    ("campaign", "The question, the protocol or the dates of the campaign"),
    ("levels", "The levels at which a result is called above or below"),
    ("outdoor", "The outdoor results"),
    ("cautions", "The cautions"),
    ("judging", "The description of how it was judged"),
    ("method", "The version of the calculation"),
)


def changes(before: Json, after: Json) -> list[str]:
    """One sentence per difference, findings first, in the order of the later revision. Empty: both say the same."""
    said = [
        *_limits(before, after),
        *_findings(before, after),
        *_instruments(before, after),
        *_elsewhere(before, after),
    ]
    if not said and _inputs(before) != _inputs(after):
        return ["The inputs of some results changed; no printed verdict or value did."]
    return said


def _limits(before: Json, after: Json) -> Iterator[str]:
    old, new = _criteria(before), _criteria(after)
    for code, limit in new.items():
        if code not in old:
            yield f"Added: the limit {_limit(limit)}."
        elif (old[code]["value"], old[code]["statistic"]) != (limit["value"], limit["statistic"]):
            yield f"The limit {_limit(old[code])} now reads {_limit(limit)}."
    for code, limit in old.items():
        if code not in new:
            yield f"No longer judged: the limit {_limit(limit)}."


def _findings(before: Json, after: Json) -> list[str]:
    """Changed verdicts first, then changed figures, then zones of which only other points changed."""
    old, new = _places(before), _places(after)
    limits, known = _criteria(after), _criteria(before)
    verdicts: list[str] = []
    figures: list[str] = []
    beside: list[str] = []
    for place, (zone, finding) in new.items():
        if place[1] not in known:
            continue  # the whole limit is new, and said so
        about = f"{zone}, {_limit(limits[place[1]])}" if len(limits) > 1 else zone
        if place not in old:
            verdicts.append(f"{about}: a new zone, {_told(finding)}.")
            continue
        former = old[place][1]
        if _told(former) != _told(finding):
            kept = (former["verdict"], former["word"]) == (finding["verdict"], finding["word"])
            (figures if kept else verdicts).append(f"{about}: {_told(former)} before, {_told(finding)} now.")
        elif _points(former) != _points(finding):
            beside.append(f"{zone}: other points changed, but none that speaks for the zone.")
    gone = [f"{name}: no longer among the zones." for key, name in _zones(before).items() if key not in _zones(after)]
    return [*gone, *verdicts, *figures, *dict.fromkeys(beside)]


def _instruments(before: Json, after: Json) -> Iterator[str]:
    old, new = _meters(before), _meters(after)
    for serial in dict.fromkeys([*new, *old]):
        if old.get(serial) != new.get(serial):
            name = (new.get(serial) or old[serial])["name"]
            what = "what is said of its channels, calibration or checks changed" if serial in new else "no longer used"
            yield f"{name} ({serial}): {what if serial in old else 'newly used'}."


def _meters(content: Json) -> dict[str, Json]:
    """By serial number. How often one stood somewhere is told by the results."""
    return {i["serial"]: {k: v for k, v in i.items() if k != "visits"} for i in content["instruments"]}


def _elsewhere(before: Json, after: Json) -> Iterator[str]:
    for part, name in ELSEWHERE:
        if before.get(part) != after.get(part):
            yield f"{name} changed."


def _criteria(content: Json) -> dict[str, Json]:
    return {criterion["code"]: criterion for criterion in content["criteria"]}


def _limit(limit: Json) -> str:
    return f"{limit['symbol']} {limit['value']}, {limit['statistic']} ({limit['body']})"


def _zones(content: Json) -> dict[str, str]:
    return {z["key"]: z["name"] for b in content["buildings"] for f in b["floors"] for z in f["zones"]}


def _places(content: Json) -> dict[Place, tuple[str, Json]]:
    """(zone, limit) → (name of the zone, finding)."""
    codes = {criterion["ref"]: criterion["code"] for criterion in content["criteria"]}
    return {
        (zone["key"], codes[finding["criterion"]]): (zone["name"], finding)
        for building in content["buildings"]
        for floor in building["floors"]
        for zone in floor["zones"]
        for finding in zone["findings"]
    }


def _told(finding: Json) -> str:
    """The finding in a few words: "above limit at 0.19 ± 0.02 mg/m³ (Office 1.02)"."""
    result = finding["result"]
    if result is None:
        return str(finding["word"])
    where = ", ".join(part for part in (result["room"], result["point"]) if part)
    return f"{finding['word']} at {result['text']} ({where}, {result['when']})"


def _points(finding: Json) -> list[str]:
    return sorted(f"{r['room']} {r['point']} {r['text']} {r['when']}" for r in finding["others"] + finding["beside"])


def _inputs(content: Json) -> Any:
    return content.get("inputs_digest")
