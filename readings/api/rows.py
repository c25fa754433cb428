"""A reading on its way out: the same columns as a JSON object and as a line of CSV."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import numpy as np

from campaigns.api.base import named
from campaigns.models import ApiToken, Deployment
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.flags import words
from methods.wording.spreadsheets import quoted
from readings.api.ask import Ask
from readings.api.walk import ReadingTable
from readings.models import Upload

COLUMNS = (
    "utc", "campaign", "deployment", "point", "instrument", "instrument_name", "parameter", "unit", "probe", "raw",
    "value", "flags", "flag_words", "stamp", "nth", "upload", "line",
)  # fmt: skip
HEADER = ",".join(COLUMNS) + "\r\n"
BLOCK = 5000


class UploadKeys:
    """The keys of uploads, asked for once each."""

    def __init__(self, token: ApiToken) -> None:
        self.uploads = named(token, Upload)
        self.known: dict[int, str] = {}

    def of(self, ids: Ints) -> list[str]:
        if new := set(np.unique(ids).tolist()) - self.known.keys():
            keys_by_id = self.uploads.filter(pk__in=new).values_list("pk", "key")
            self.known |= {**dict.fromkeys(new, ""), **{pk: str(key) for pk, key in keys_by_id}}
        return [self.known[k] for k in ids.tolist()]


def records(table: ReadingTable, ask: Ask, uploads: UploadKeys) -> Iterator[dict[str, Any]]:
    """One dictionary a reading, in the order of COLUMNS."""
    heads = [_head(table, deployment, ask) for deployment in table.deployments]
    rows = zip(
        utc_texts(table.utc_ms), table.where.tolist(), _numbers(table.raw), _numbers(table.value),
        table.flags.tolist(), stamp_texts(table.stamp), table.nth.tolist(), uploads.of(table.upload_id),
        table.line.tolist(), strict=True,
    )  # fmt: skip
    for utc, where, raw, value, flags, stamp, nth, upload, line in rows:
        yield {
            "utc": utc + "Z", **heads[where], "raw": raw, "value": value, "flags": flags, "flag_words": words(flags),
            "stamp": stamp, "nth": nth, "upload": upload or None, "line": line,
        }  # fmt: skip


def csv_blocks(table: ReadingTable, ask: Ask, uploads: UploadKeys) -> Iterator[str]:
    """The table as lines of RFC 4180, some thousand at a time. Text is harmless in a spreadsheet, numbers are bare."""
    heads = [",".join(quoted(text) for text in _head(table, d, ask).values()) for d in table.deployments]
    for start in range(0, len(table), BLOCK):
        part = table.rows(slice(start, start + BLOCK))
        rows = zip(
            utc_texts(part.utc_ms), part.where.tolist(), _number_texts(part.raw), _number_texts(part.value),
            part.flags.tolist(), stamp_texts(part.stamp), part.nth.tolist(), uploads.of(part.upload_id),
            part.line.tolist(), strict=True,
        )  # fmt: skip
        yield "".join(
            f"{utc}Z,{heads[where]},{raw},{value},{flags},{_words_cell(flags)},{stamp},{nth},{upload},{line}\r\n"
            for utc, where, raw, value, flags, stamp, nth, upload, line in rows
        )


def _head(table: ReadingTable, deployment: Deployment, ask: Ask) -> dict[str, str]:
    """What is the same for all readings of one channel in one deployment."""
    spec, instrument = table.channel.spec, table.channel.instrument
    return {
        "campaign": str(ask.campaign.key),
        "deployment": str(deployment.key),
        "point": str(ask.wanted[deployment.pk].point.key),
        "instrument": str(instrument.key),
        "instrument_name": instrument.name,
        "parameter": spec.parameter,
        "unit": spec.unit,
        "probe": spec.probe,
    }


def utc_texts(ms: Ints) -> list[str]:
    """ISO 8601 with milliseconds, without the Z that ends it."""
    texts: list[str] = np.datetime_as_string(ms.astype("datetime64[ms]"), unit="ms").tolist()
    return texts


def stamp_texts(ms: Ints) -> list[str]:
    """As ``moments.stamp_text`` writes them: milliseconds only where there are any. No zone: a stamp has none."""
    whole = not (ms % 1000).any()
    written = np.datetime_as_string(ms.astype("datetime64[ms]"), unit="s" if whole else "ms")
    written.view("U1").reshape(len(ms), written.dtype.itemsize // 4)[:, len("2026-09-15")] = " "
    texts: list[str] = written.tolist()
    return texts if whole else [text.removesuffix(".000") for text in texts]


def _numbers(values: Floats) -> list[float | None]:
    there: Bools = np.isfinite(values)
    numbers: list[float | None] = values.tolist()
    return numbers if there.all() else [x if ok else None for x, ok in zip(numbers, there.tolist(), strict=True)]


def _number_texts(values: Floats) -> list[str]:
    if np.isfinite(values).all():
        return list(map(repr, values.tolist()))
    return ["" if x is None else repr(x) for x in _numbers(values)]


@lru_cache(maxsize=4096)
def _words_cell(flags: int) -> str:
    return quoted("; ".join(words(flags)))
