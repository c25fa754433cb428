"""A released report in the pieces that its pages show.

The whole content of a report on a large building is several megabytes, of which one page shows a hundredth. It never
changes, so it is read whole once in a process, cut, and kept pressed. What a page reads of it is a record, which nobody
can change.
"""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeVar

from campaigns.frozen.records import Codec
from reports.content.places import ReportedZone
from reports.content.record import SignedContent
from reports.models import Report
from reports.pages.report_overview import ReportOverview, in_short

T = TypeVar("T")

REPORTS_KEPT = 16
#: Read again from their pressed form: what many people look at in turn is read once.
OVERVIEWS_KEPT = 32
FAST = 1  # of zlib: a tenth of the size in a fraction of the time of reading the content
OVERVIEW, ZONE = Codec(ReportOverview), Codec(ReportedZone)


@dataclass(frozen=True)
class Pieces:
    """``frame``: all but the buildings. ``against``: by the name of a criterion, None for none, what the page of the
    whole report shows. ``alone``: by its key, a zone with all that was found in it."""

    frame: SignedContent
    against: dict[str | None, bytes]
    alone: dict[str, bytes]


def frame_of(report: Report) -> SignedContent:
    """The content without its buildings: what every page of the report needs."""
    return _pieces_of(report).frame


def whole_against(report: Report, ref: str | None) -> ReportOverview:
    """The buildings with the findings for one criterion, as much of it as the building, the table and the tally show.
    ``ref``: name of a criterion of the report, None for no findings at all."""
    return _overview(report.pk, report.digest, ref)


def zone_alone(report: Report, key: str) -> ReportedZone | None:
    """The zone with this key and everything that was found in it; None if the report does not know it."""
    held = _pieces_of(report).alone.get(key)
    return None if held is None else _opened(ZONE, held)


def forget() -> None:
    """Read everything anew: for tests, whose database forgets too."""
    _cut.cache_clear()
    _overview.cache_clear()


def _pieces_of(report: Report) -> Pieces:
    return _cut(report.pk, report.digest)


@lru_cache(maxsize=REPORTS_KEPT)
def _cut(pk: int, digest: str) -> Pieces:
    """``digest`` is the content's own: another content is another entry."""
    content = Report.objects.only("key", "content", "digest").get(pk=pk, digest=digest).record
    refs = (None, *(criterion.ref for criterion in content.criteria))
    return Pieces(
        frame=replace(content, buildings=()),
        against={ref: _pressed(OVERVIEW, in_short(content.buildings, ref)) for ref in refs},
        alone={zone.key: _pressed(ZONE, zone) for zone in content.zones},
    )


@lru_cache(maxsize=OVERVIEWS_KEPT)
def _overview(pk: int, digest: str, ref: str | None) -> ReportOverview:
    return _opened(OVERVIEW, _cut(pk, digest).against[ref])


def _pressed(codec: Codec[T], piece: T) -> bytes:
    return zlib.compress(codec.text(piece).encode(), FAST)


def _opened(codec: Codec[T], pressed: bytes) -> T:
    return codec.read(json.loads(zlib.decompress(pressed)))
