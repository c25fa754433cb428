"""The readings behind a figure as a table for a spreadsheet: every one of them, with the numbers the figure shows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

import numpy as np

from campaigns.models import Deployment
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import EXCLUDES, Flag, words
from methods.quantities.units import NotConvertible
from methods.wording.spreadsheets import quoted
from readings.models import Upload
from readings.queries import Placed, placed_in
from reports.pages.figure_query import FigureQuery, InTerms

COLUMNS = (
    "utc", "local_time", "point", "kind_of_place", "instrument", "serial", "parameter", "sign", "value", "unit",
    "reference", "counts", "flags", "corrected", "stored", "channel_unit", "stamp", "file", "line",
)  # fmt: skip
HEADER = ",".join(COLUMNS) + "\r\n"
BLOCK = 5000


def readings_csv(looks: Sequence[tuple[FigureQuery, Sequence[Deployment]]]) -> Iterator[str]:
    """Lines of RFC 4180, some thousand at a time; one instrument is in memory at a time. Times ascend in each
    deployment. ``sign`` is "<" for a reading below detection, whose ``value`` is then the limit of detection."""
    yield HEADER
    files: dict[int, str] = {}
    for look, deployments in looks:
        unit = ""
        start, end = look.moments
        for placed in placed_in(look.campaign, parameter=look.parameter, deployments=deployments, start=start, end=end):
            try:
                in_terms = InTerms(placed.channel.spec, look.current, unit)
            except NotConvertible:
                in_terms = InTerms(placed.channel.spec, None, "")
            unit = unit or in_terms.unit
            yield from _lines(look, placed, in_terms, files)


def _lines(look: FigureQuery, placed: Placed, in_terms: InTerms, files: dict[int, str]) -> Iterator[str]:
    _know(files, placed.upload_id)
    wall = look.clock.from_utc(placed.utc_ms)
    inside = np.flatnonzero((wall >= look.span[0]) & (wall <= look.span[1])) if look.span else np.arange(len(placed))
    for at in range(0, len(inside), BLOCK):
        yield "".join(_block(placed, wall, in_terms, inside[at : at + BLOCK], files))


def _block(placed: Placed, wall: Ints, in_terms: InTerms, rows: Ints, files: dict[int, str]) -> Iterable[str]:
    flags = placed.flags[rows]
    value = in_terms.raised(in_terms(placed.value[rows]), (flags & int(Flag.BELOW_DETECTION)) != 0)
    head, unit, tail = _heads(placed, in_terms)
    columns = zip(
        _utc(placed.utc_ms[rows]), _local(wall[rows], placed.utc_ms[rows]), _numbers(value), flags.tolist(),
        _numbers(placed.value[rows]), _numbers(placed.raw[rows]), _utc(placed.stamp[rows]),
        placed.upload_id[rows].tolist(), placed.line[rows].tolist(), strict=True,
    )  # fmt: skip
    for utc, local, shown, flag, corrected, stored, stamp, upload, line in columns:
        yield (
            f"{utc}Z,{local},{head},{_sign(flag)},{shown},{unit},{_counts(flag, shown)},{_words(flag)},"
            f"{corrected},{stored},{tail},{stamp},{files[upload]},{line}\r\n"
        )


def _heads(placed: Placed, in_terms: InTerms) -> tuple[str, str, str]:
    """What is the same in every line: who and where; the unit with its reference; the channel's own unit."""
    point, instrument = placed.deployment.point, placed.channel.instrument
    spec = placed.channel.spec
    head = (str(point), point.get_kind_display(), spec.with_probe(instrument.name), instrument.serial, spec.parameter)
    unit, _, reference = in_terms.unit.partition(" at ")
    return ",".join(map(quoted, head)), f"{quoted(unit)},{quoted(reference)}", quoted(spec.unit)


def _know(files: dict[int, str], uploads: Ints) -> None:
    """The names of files, asked for once each."""
    if new := set(np.unique(uploads).tolist()) - files.keys():
        names = dict(Upload.objects.filter(pk__in=new).values_list("pk", "filename"))
        files |= {pk: quoted(names.get(pk, "")) for pk in new}


def _utc(ms: Ints) -> list[str]:
    """ISO 8601; milliseconds only where there are any."""
    whole = not (ms % 1000).any()
    texts: list[str] = np.datetime_as_string(ms.astype("datetime64[ms]"), unit="s" if whole else "ms").tolist()
    return texts


def _local(wall: Ints, utc: Ints) -> list[str]:
    """The site's clock with how far it is ahead of UTC, so that a repeated hour stays in order."""
    return [f"{text}{_offset(ahead)}" for text, ahead in zip(_utc(wall), (wall - utc).tolist(), strict=True)]


@lru_cache(maxsize=64)
def _offset(ahead_ms: int) -> str:
    minutes = abs(ahead_ms) // MINUTE_MS
    return f"{'-' if ahead_ms < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"


def _numbers(values: Floats) -> list[str]:
    known: Bools = np.isfinite(values)
    return [repr(x) if ok else "" for x, ok in zip(values.tolist(), known.tolist(), strict=True)]


def _sign(flag: int) -> str:
    return "<" if flag & Flag.BELOW_DETECTION else ">" if flag & Flag.OVER_RANGE else ""


def _counts(flag: int, shown: str) -> str:
    return "yes" if shown and not flag & int(EXCLUDES) else "no"


@lru_cache(maxsize=4096)
def _words(flag: int) -> str:
    return quoted("; ".join(words(flag)))
