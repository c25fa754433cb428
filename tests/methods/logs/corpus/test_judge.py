"""The judge of the corpus sees what is wrong: a reader that doubles, drops or shifts is not called exact."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from methods.logs import read as read_log
from methods.logs.types import Chunk
from tests.methods.logs import logs
from tests.methods.logs.corpus.truth import COLUMNS, FileEnd, LogCase, fate, truth_of

HEAD = "Time,HCHO (ppm),CO2 (ppm),Temp (°C),RH (%)"
ROWS = zip(*(texts for *_, texts in COLUMNS), strict=True)
LINES = [f"2026-09-15 08:0{k}:00,{','.join(row)}" for k, row in enumerate(ROWS)]
CASE = LogCase("plain", "\n".join((HEAD, *LINES)).encode(), truth_of())
BROKEN = replace(CASE, content=CASE.content + b"\n2026-09-15 08:10:00,broken,broken,broken,broken\n")


def dropped(chunk: Chunk) -> Chunk:
    return Chunk(chunk.lines[:-1], chunk.stamps[:-1], chunk.values[:-1], chunk.flags[:-1], chunk.problems)


def shifted(chunk: Chunk) -> Chunk:
    return Chunk(chunk.lines, chunk.stamps + 1000, chunk.values, chunk.flags, chunk.problems)


def changed(chunk: Chunk) -> Chunk:
    values = chunk.values.copy()
    values[:1, 0] = np.nextafter(values[:1, 0], 1)
    return Chunk(chunk.lines, chunk.stamps, values, chunk.flags, chunk.problems)


def reader(*ways: Callable[[Chunk], Chunk]) -> Callable[..., Iterator[Chunk]]:
    read = read_log

    def otherwise(*asked: Any, **named: Any) -> Iterator[Chunk]:
        for chunk in read(*asked, **named):
            yield from (way(chunk) for way in ways)

    return otherwise


def test_exact(tmp_path: Path) -> None:
    assert fate(CASE, tmp_path).outcome is FileEnd.EXACT
    assert fate(BROKEN, tmp_path).outcome is FileEnd.EXACT


@pytest.mark.parametrize("case", [CASE, BROKEN], ids=["plain", "with a line that is named"])
@pytest.mark.parametrize("ways", [(shifted,), (changed,), (dropped, dropped), (lambda c: c, lambda c: c)])
def test_wrong(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, case: LogCase, ways: Any) -> None:
    monkeypatch.setattr(logs, "read", reader(*ways))
    assert fate(case, tmp_path).outcome is FileEnd.WRONG
