"""A report's content in the shapes that the template parts take. Nothing here asks the database."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from django.http import Http404

from methods.floorplans.drawing import dress
from methods.verdicts.comparability import ComparabilityState
from reports.content.drawn_series import courses, drawn_beside
from reports.services.freezing.drawings import thawed
from reports.services.freezing.summary import UNMEASURED
from reports.services.result_cells import NO_BREAK

Json = dict[str, Any]
Link = Callable[[Json], str]  # from a frozen zone to the address of its page


def zones(content: Json) -> list[Json]:
    return [zone for building in content["buildings"] for floor in building["floors"] for zone in floor["zones"]]


def pick(content: Json, ref: str | None) -> Json | None:
    """The criterion "C2"; the first without a name; None where nothing was judged. Http404 for a wrong name."""
    criteria: list[Json] = content["criteria"]
    if not ref:
        return criteria[0] if criteria else None
    for criterion in criteria:
        if criterion["ref"] == ref:
            return criterion
    raise Http404


def options(content: Json, current: Json | None) -> list[tuple[str, str, bool]]:
    """For ``parts/switch.html``."""
    now = current["ref"] if current else ""
    return [
        (f"{c['symbol']} {c['value']}, {c['body']}", f"?limit={c['ref']}", c["ref"] == now) for c in content["criteria"]
    ]


def limit_text(criterion: Json) -> str:
    """The limit in one line, with what a value beside it needs: averaging time, issuer, reference of its unit."""
    issued = f"{criterion['body']} {criterion['edition']}".strip()
    reference = f", values {criterion['reference']}" if criterion["reference"] else ""
    return f"{criterion['value']}, {criterion['statistic']} – {issued}{reference}"


def tally(content: Json, criterion: Json) -> list[Json]:
    """Counts of verdicts, each word with its meaning where the report gives one."""
    meanings = {said["term"]: said["meaning"] for said in content["meanings"]}
    return [{**entry, "meaning": meanings.get(entry["word"], "")} for entry in criterion["tally"]]


def matrix(content: Json) -> list[Json]:
    """Every zone with its finding for each limit, in the order of the building."""
    return [
        {"zone": zone, "findings": [finding_of(zone, c["ref"]) for c in content["criteria"]]} for zone in zones(content)
    ]


def finding_of(zone: Json, ref: str) -> Json:
    found: Json = next(f for f in zone["findings"] if f["criterion"] == ref)
    return found


# --- the building in section ------------------------------------------------------------------------------------------


def sections(content: Json, criterion: Json, link: Link) -> list[Json]:
    """Each building as ``parts/building.html`` draws it. Outdoor air has a table of its own and no page to lead to."""
    return [
        {
            "caption": f"{building['name']}: {criterion['name'].lower()} in each zone at the point of most concern.",
            "criterion": limit_text(criterion),
            "floors": [_floor(f, criterion["ref"], link) for f in building["floors"] if f["level"] >= 0],
            "cellars": [_floor(f, criterion["ref"], link) for f in building["floors"] if f["level"] < 0],
            "outdoor": [],
        }
        for building in content["buildings"]
    ]


def floor_plans(content: Json, criterion: Json, link: Link) -> list[Json]:
    """Floors as ``reports/parts/plans.html`` takes them, the top one first; empty when none was drawn at the time."""
    floors = [(building, floor) for building in content["buildings"] for floor in building["floors"] if floor["zones"]]
    if not any(floor.get("drawing") for _, floor in floors):  # reports of format 1 have none
        return []
    many = len(content["buildings"]) > 1
    return [_plan(b, f, n, criterion["ref"], link, many=many) for n, (b, f) in enumerate(floors)]


def _plan(building: Json, floor: Json, n: int, ref: str, link: Link, *, many: bool) -> Json:
    cells = {zone["key"]: _cell(zone, ref, link) for zone in floor["zones"]}
    name = f"{building['name']}, {floor['name']}" if many else floor["name"]
    held = floor.get("drawing")
    drawn = {zone["key"] for zone in held["zones"]} if held else set()
    drawing = replace(dress(thawed(name, held), cells), key=str(n)) if held else None
    undrawn = [cell for key, cell in cells.items() if key not in drawn]
    return {"name": name, "title": name, "drawing": drawing, "undrawn": undrawn}


def _floor(floor: Json, ref: str, link: Link) -> Json:
    return {"name": floor["name"], "level": "", "zones": [_cell(zone, ref, link) for zone in floor["zones"]]}


def _cell(zone: Json, ref: str, link: Link) -> Json:
    finding = finding_of(zone, ref)
    cell: Json = {"name": zone["name"], "url": link(zone), "span": zone["span"], "measured": False}
    result = finding["result"]
    if result is None:
        return cell
    return cell | {
        "measured": True,
        "value": result["number"],
        "unit": result["unit"] if result["value"] is not None else "",
        "fraction": finding["fraction"],
        "verdict": finding["verdict"],
        "said": finding["word"],
    }


# --- tables -----------------------------------------------------------------------------------------------------------

COLUMNS = [
    {"label": "Zone"},
    {"label": "Finding"},
    {"label": "Measured ± U", "num": True},
    {"label": "Fraction of the limit"},
    {"label": "Where and when"},
]
ORDER = ("above", "undecided", "below", "not_comparable", UNMEASURED)


def ranking(content: Json, criterion: Json, link: Link) -> list[list[Any]]:
    """Zones as rows of ``parts/table.html``, what concerns most first."""
    held = sorted(((zone, finding_of(zone, criterion["ref"])) for zone in zones(content)), key=_concern)
    return [_ranked(zone, finding, link) for zone, finding in held]


def _ranked(zone: Json, finding: Json, link: Link) -> list[Any]:
    result = finding["result"]
    row: list[Any] = [{"text": zone["name"], "url": link(zone), "note": zone["floor"]}, _verdict(finding)]
    if result is None:
        return [*row, "–", "–", "–"]
    low, high = spread(finding)
    measured = f"{result['number']} {result['spread']}".strip().replace(" ", NO_BREAK)
    return [
        *row,
        {"text": measured, "unit": result["unit"]},
        "–" if finding["fraction"] is None else {"fraction": finding["fraction"], "low": low, "high": high},
        {"text": place_text(result), "note": result["when"]},
    ]


def _verdict(finding: Json) -> Json:
    indicative = (
        finding["result"] is not None and finding["result"]["comparability"] == ComparabilityState.INDICATIVE.word
    )
    return {"verdict": finding["verdict"], "said": finding["word"], "note": "an indication" if indicative else ""}


def _concern(held: tuple[Json, Json]) -> tuple[bool, int, float, str]:
    """A limit not met comes first, which for a lower limit is what lies below it."""
    zone, finding = held
    rank = {False: 0, None: ORDER.index(finding["verdict"]), True: 2}[finding["met"]]
    return finding["verdict"] == UNMEASURED, rank, -(finding["fraction"] or 0.0), zone["name"]


def spread(finding: Json) -> tuple[float | None, float | None]:
    """The ends of value ± U as fractions of the limit."""
    result, fraction = finding["result"], finding["fraction"]
    if result is None or not fraction or not result["value"] or result["expanded"] is None:
        return None, None
    reach = result["expanded"] * fraction / result["value"]
    return fraction - reach, fraction + reach


def unmeasured(content: Json) -> Iterator[Json]:
    """Zones not measured at all, and points left out of measured ones: {name, floor, whole, points}."""
    for zone in zones(content):
        if not zone["measured"] or zone["unmeasured_points"]:
            yield {
                "name": zone["name"],
                "floor": zone["floor"],
                "whole": not zone["measured"],
                "points": [point_text(point) for point in zone["unmeasured_points"]],
            }


def point_text(point: Json) -> str:
    where = ", ".join(part for part in (point["room"], point["point"]) if part)
    return f"{where} ({point['why']})"


def place_text(result: Json) -> str:
    return ", ".join(part for part in (result["room"], result["point"]) if part)


# --- one zone ---------------------------------------------------------------------------------------------------------


def zone_findings(content: Json, zone: Json) -> list[Json]:
    """The zone's findings with their limit, facts and way back to the file, for the zone's page."""
    told, drawn, beside = [], courses(zone), drawn_beside(zone)
    meanings = {said["term"]: said["meaning"] for said in content["meanings"]}
    for criterion in content["criteria"]:
        finding = finding_of(zone, criterion["ref"])
        low, high = spread(finding)
        told.append(
            {
                "criterion": criterion,
                "finding": finding,
                "meaning": meanings.get(finding["word"], ""),
                "low": low,
                "high": high,
                "facts": _facts(finding, criterion),
                "chain": chain_steps(finding["result"]) if finding["result"] else [],
                "others": [_other(r) for r in finding["others"] + finding["beside"]],
                "course": drawn.get(criterion["ref"]),
                "drawn_beside": beside.get(criterion["ref"], ""),
            }
        )
    return told


def _facts(finding: Json, criterion: Json) -> list[tuple[str, str]]:
    result = finding["result"]
    if result is None:
        return []
    reference = f" {criterion['reference']}" if criterion["reference"] else ""
    place = f" – {result['place']}" if result["place"] else ""
    statistic = f" ({result['statistic']})" if result["statistic"] else ""
    rows = [
        ("Measured", f"{result['text']}{reference}"),
        ("Limit", criterion["in_words"]),
        ("Published by", criterion["citation"]),
        ("Probability of being above", result["probability"]),
        ("Where", f"{place_text(result)}{place}, {result['height_m']:g} m above the floor"),
        ("When", f"{result['when']}{statistic}"),
        ("Readings", _readings(result)),
        ("Outdoor air", _outdoor(result.get("outdoor") or {})),
        ("What would decide it", finding["advice"]),
    ]
    return [(name, text) for name, text in rows if text]


def _outdoor(beside: Json) -> str:
    """What was measured outdoors for it; reports from before it was kept have nothing to say."""
    if not beside.get("text"):
        return ""
    ratio = f"; indoors {beside['ratio']} times as much" if beside["ratio"] else ""
    return f"{beside['text']}, {beside['words']}{ratio}{'; taken off' if beside['taken_off'] else ''}"


def _readings(result: Json) -> str:
    every = f", one every {result['interval']}" if result["interval"] else ""
    covered = f", {100 * result['coverage']:.0f} % of the time covered" if result["coverage"] is not None else ""
    return f"{result['readings']}{every}{covered}" if result["readings"] else ""


def _other(result: Json) -> Json:
    kind = "" if result["kind"] == "room_air" else result["kind_word"].lower()
    return {**result, "where": place_text(result), "kind_note": kind}


def chain_steps(result: Json) -> list[Json]:
    """From the number to the lines of the original file, for ``parts/chain.html``."""
    chain = result["chain"]
    steps = [
        {"name": "Result", "text": result["text"], "note": f"{result['ref']} in the report, method {chain['method']}"},
        {
            "name": "Instrument",
            "text": ", ".join(filter(None, (chain["instrument"], chain["serial"]))),
            "note": chain["channel"],
        },
    ]
    if chain["first"]:
        first = chain["first"]
        steps += [
            {"name": "Original file", "text": first["file"], "note": f"SHA-256 {first['sha256']}"},
            {"name": "Lines", "text": chain["lines"], "note": f"the first stamped {first['stamp']} by the instrument"},
        ]
    return [*steps, {"name": "Digest of the inputs", "text": chain["digest"]}]
