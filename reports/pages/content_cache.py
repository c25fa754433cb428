"""A released report in the pieces that its pages show.

The whole content of a report on a large building is several megabytes, of which one page shows a hundredth. It never
changes, so it is read whole once in a process, cut, and kept pressed: what a page then reads is its own copy.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from reports.models import Report
from reports.pages.released_report import zones

Json = dict[str, Any]

REPORTS_KEPT = 16
FAST = 1  # of zlib: a tenth of the size in a fraction of the time of reading the content
#: What only the page of a zone shows in full.
OF_ZONE_ALONE = ("findings", "courses")
#: What the page of the whole report shows of a zone's finding and of the result that speaks for it.
OF_FINDING = ("criterion", "verdict", "word", "met", "fraction")
OF_RESULT = ("value", "expanded", "number", "spread", "unit", "comparability", "room", "point", "when")


@dataclass(frozen=True)
class Pieces:
    """``frame``: all but the buildings. ``buildings``: their zones without ``OF_ZONE_ALONE``. ``against``: by the name
    of a criterion, findings by zone. ``alone``: by its key, a zone with all its findings.
    """

    frame: bytes
    buildings: bytes
    against: dict[str, bytes]
    alone: dict[str, bytes]


def frame_of(report: Report) -> Json:
    """The content without its buildings: what every page of the report needs."""
    return dict(_read(_pieces_of(report).frame))


def whole_against(report: Report, ref: str | None) -> Json:
    """The content with the findings for one criterion, and of those only what the building, the table and the tally
    show. ``ref``: name of a criterion of the report, None for no findings at all."""
    pieces = _pieces_of(report)
    content = frame_of(report) | {"buildings": _read(pieces.buildings)}
    found = _read(pieces.against[ref]) if ref else {}
    for zone in zones(content):
        zone["findings"] = [found[zone["key"]]] if zone["key"] in found else []
    return content


def zone_alone(report: Report, key: str) -> Json | None:
    """The zone with this key and everything that was found in it; None if the report does not know it."""
    held = _pieces_of(report).alone.get(key)
    return None if held is None else dict(_read(held))


def _pieces_of(report: Report) -> Pieces:
    return _cut(report.pk, report.digest)


@lru_cache(maxsize=REPORTS_KEPT)
def _cut(pk: int, digest: str) -> Pieces:
    """``digest`` is the content's own: another content is another entry."""
    content: Json = Report.objects.values_list("content", flat=True).get(pk=pk, digest=digest)
    alone = {zone["key"]: _pressed(zone) for zone in zones(content)}
    against: dict[str, Json] = {criterion["ref"]: {} for criterion in content["criteria"]}
    for zone in zones(content):
        for finding in zone["findings"]:
            against[finding["criterion"]][zone["key"]] = _slim(finding)
    frame = {name: said for name, said in content.items() if name != "buildings"}
    bare = _each_zone(content["buildings"], lambda zone: {k: v for k, v in zone.items() if k not in OF_ZONE_ALONE})
    return Pieces(_pressed(frame), _pressed(bare), {ref: _pressed(found) for ref, found in against.items()}, alone)


def _each_zone(buildings: list[Json], change: Callable[[Json], Json]) -> list[Json]:
    return [
        building
        | {"floors": [floor | {"zones": [change(zone) for zone in floor["zones"]]} for floor in building["floors"]]}
        for building in buildings
    ]


def _slim(finding: Json) -> Json:
    result = finding["result"]
    shown = result and {name: result.get(name) for name in OF_RESULT}
    return {name: finding.get(name) for name in OF_FINDING} | {"result": shown}


def _pressed(piece: Any) -> bytes:
    return zlib.compress(json.dumps(piece, separators=(",", ":")).encode(), FAST)


def _read(pressed: bytes) -> Any:
    return json.loads(zlib.decompress(pressed))
