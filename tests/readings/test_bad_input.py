"""The list of bad input in docs/methods/logs.md#promises, word by word: what is said of each, at which line and column,
what is stored all the same, and that the file itself is kept as it came. More of each: test_bad_files, test_bad_lines.

What a good reader makes of each was written down by hand; shapes and codes of loggers are common practice, no source.
"""

from __future__ import annotations

import io
import math
import zipfile
from dataclasses import dataclass
from typing import Any

import openpyxl
import pytest
from django.core.files.uploadedfile import UploadedFile

from campaigns.models import Campaign, Channel, Instrument, User
from methods.quantities.flags import Flag
from readings.models import Upload
from readings.queries import rows
from readings.services.receive import UploadRefused, receive
from tests.readings.doing import COLUMN, EVER, HEAD, TEN, cells, sha256

Said = tuple[int, str, str, str]
FINE = [float(v) for v in TEN]
BELOW, OVER, ERROR = int(Flag.BELOW_DETECTION), int(Flag.OVER_RANGE), int(Flag.SENSOR_ERROR)


@dataclass(frozen=True)
class Case:
    """``said``: line, column, value and code of what must be told, None = nothing; ``words`` of its message.
    ``stored`` are the values, with None for a stored error; ``flags`` those of the readings that have one.
    """

    word: str
    content: str | bytes
    said: Said | None
    words: str = ""
    stored: tuple[float | None, ...] = ()
    flags: tuple[int, ...] = ()
    name: str = "log.csv"


def odd(cell: str) -> str:
    """One odd cell among nine good ones, in line 6."""
    return cells([*TEN[:4], cell, *TEN[5:]])


def but(value: float | None) -> tuple[float | None, ...]:
    return (*FINE[:4], value, *FINE[5:])


def at(*stamps: str) -> str:
    return HEAD + "\n" + "".join(f"{stamp},{value}\n" for stamp, value in zip(stamps, TEN, strict=False))


def a_bomb() -> bytes:
    """A workbook whose second sheet unpacks to 100 MB of nothing."""
    stream = io.BytesIO()
    openpyxl.Workbook().save(stream)
    with zipfile.ZipFile(stream, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet2.xml", bytes(100_000_000))
    return stream.getvalue()


WITHOUT_ONE = tuple(FINE[:4] + FINE[5:])
CASES = (
    Case("wrong delimiter", cells(TEN).replace(",", "_"), (0, "", "", "not_a_log"), "are not parted into columns"),
    Case("decimal comma", cells([v.replace(".", ",") for v in TEN]), (1, "", "3", "decimal_comma"),
         "the comma seems to stand both between the columns and inside the numbers"),
    Case("byte-order mark", b"\xef\xbb\xbf" + cells(TEN).encode(), None, stored=tuple(FINE)),
    Case("UTF-16", cells(TEN).encode("utf-16"), None, stored=tuple(FINE)),
    Case("mixed dates", at("14/09/2026 09:00:00", "15/09/2026 09:00:00", "09/16/2026 09:00:00"),
         (4, "", "09/16/2026 09:00:00", "mixed_dates"), "makes sense only with the month first"),
    Case("repeated hour", at("2026-10-25 00:30:00", "2026-10-25 01:30:00", "2026-10-25 01:00:00",
                             "2026-10-25 01:30:00"), None, stored=(0.010, 0.012, 0.011, 0.013)),
    Case("clock set back", at("2026-09-15 09:00:00", "2026-09-15 09:01:00", "2026-09-15 07:58:00"),
         (4, "", "2026-09-15 07:58:00", "clock_back"), "The stamps go back by 1 h 3 min here",
         stored=(0.012, 0.010, 0.011)),
    Case("duplicated rows", cells(TEN) + cells(TEN).splitlines()[-1] + "\n", (12, "", "1", "duplicate_rows"),
         "They were kept", stored=(*FINE, FINE[-1])),
    Case("truncated last line", cells(TEN) + "2026-09-15 09:1", (12, "", "2026-09-15 09:1", "truncated_line"),
         "ends in the middle of this line", stored=tuple(FINE)),
    Case("truncated last line, digits missing", cells(TEN * 2) + "2026-09-15 10:00:00,0.0",
         (22, COLUMN, "0.0", "truncated_value"), "digits seem to be missing", stored=tuple(FINE * 2)),
    Case("unit missing", cells(TEN).replace(" [ppm]", ""), (1, "formaldehyde", "", "unit"),
         "In which unit is “formaldehyde”?"),
    Case("unknown parameter", cells(TEN).replace("formaldehyde", "Xylozene"), (1, "Xylozene [ppm]", "", "parameter"),
         "What does “Xylozene [ppm]” measure?"),
    Case("text in a number column", odd("oops"), (6, COLUMN, "oops", "text_in_number"), "“oops” is not a number",
         stored=WITHOUT_ONE),
    Case("<0.01", odd("<0.01"), None, stored=but(0.01), flags=(BELOW,)),
    Case(">5", odd(">5"), None, stored=but(5.0), flags=(OVER,)),
    *(Case(f"error code {code}", odd(code), None, stored=but(None), flags=(flag,))
      for code, flag in (("ERR", ERROR), ("OL", OVER), ("---", ERROR), ("NaN", ERROR))),
    Case("−200 for missing", odd("-200"), None, stored=but(None), flags=(ERROR,)),
    Case("binary file", bytes(range(256)) * 40, (0, "", "", "binary"), "not text but a binary file"),
    Case("a workbook that is a zip bomb", a_bomb(), (0, "", "", "zip_bomb"), "far more than a log can hold",
         name="log.xlsx"),
    Case("a name with slashes", cells(TEN), None, stored=tuple(FINE), name="../../etc/cron.d/log.csv"),
)  # fmt: skip


@pytest.mark.usefixtures("usable_afterwards")
@pytest.mark.parametrize("case", CASES, ids=[case.word for case in CASES])
def test_bad_input(take: Any, channel: Channel, case: Case) -> None:
    upload, job = take(case.content, case.name)
    said = {(p.line, p.column, p.value, p.code): p.message for p in upload.problems.all()}
    if case.said is None:
        assert said == {}
    else:
        assert case.words in said[case.said]
    found = rows(channel.pk, *EVER)
    assert [None if math.isnan(v) else v for v in found["raw"].tolist()] == list(case.stored)
    assert tuple(found["flag"][found["flag"] > 0].tolist()) == case.flags
    assert (upload.stored, upload.filename) == (len(case.stored), case.name.rsplit("/", 1)[-1])
    assert job.code != "internal-error"
    with upload.original.open("rb") as kept:
        assert sha256(kept.read()) == sha256(case.content) == upload.sha256, "the original is kept as it came"


class _Unread(io.RawIOBase):
    """Must not be read: the size alone decides."""

    def read(self, *_: Any) -> bytes:
        raise AssertionError("read although it is too large")


@pytest.mark.parametrize(
    ("file", "size", "words"),
    [(io.BytesIO(b""), 0, "“log.csv” is empty (0 bytes)"), (_Unread(), 10**9, "“log.csv” has 1000 MB; files up to")],
    ids=["empty file", "a 1 GB file"],
)
def test_refused_at_the_door(
    campaign: Campaign, meter: Instrument, consultant: User, file: Any, size: int, words: str
) -> None:
    with pytest.raises(UploadRefused) as refused:
        receive(UploadedFile(file, "log.csv", size=size), campaign, meter, consultant)
    assert str(refused.value).startswith(words)
    assert not Upload.objects.exists(), "nothing was taken, so nothing is lost"
