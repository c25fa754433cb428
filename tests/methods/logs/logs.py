"""Writing logs to read back: any shape, any encoding, from one list of readings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from methods.logs import Chunk, Layout, read


def clock(
    year: int, month: int, day: int, hour: int = 0, minute: int = 0, second: int = 0, microsecond: int = 0
) -> dt.datetime:
    """A moment on a logger's own clock, which knows no zone."""
    return dt.datetime(year, month, day, hour, minute, second, microsecond)  # noqa: DTZ001


EPOCH = clock(1970, 1, 1)


def ms_of(moment: dt.datetime) -> int:
    return (moment - EPOCH) // dt.timedelta(milliseconds=1)


@dataclass(frozen=True)
class Shape:
    """How a log is written; ``stamp`` renders a moment into one or more cells."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    line_end: str = "\n"
    stamp: Callable[[dt.datetime], tuple[str, ...]] = lambda m: (f"{m:%Y-%m-%d %H:%M:%S}",)
    time_names: tuple[str, ...] = ("Time",)
    names: tuple[str, ...] = ("HCHO (ppm)", "CO2 (ppm)", "Temp (°C)")
    preamble: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    quoted: bool = False
    tail: str = ""

    def line(self, cells: Sequence[str]) -> str:
        shown = [f'"{cell}"' for cell in cells] if self.quoted else list(cells)
        return self.delimiter.join(shown) + self.tail

    def number(self, text: str) -> str:
        return text.replace(".", self.decimal)

    def write(self, path: Path, rows: Sequence[tuple[dt.datetime, Sequence[str]]]) -> Path:
        """``rows`` pair a moment with the texts of its values, decimal points in them."""
        lines = [*self.preamble, self.line([*self.time_names, *self.names])]
        if self.units:
            lines.append(self.line([*[""] * len(self.time_names), *self.units]))
        for moment, values in rows:
            lines.append(self.line([*self.stamp(moment), *map(self.number, values)]))
        path.write_bytes((self.line_end.join(lines) + self.line_end).encode(self.encoding))
        return path


@dataclass
class Whole:
    """All chunks of a reading as one."""

    lines: list[int]
    stamps: list[int]
    values: np.ndarray
    flags: np.ndarray
    problems: list[tuple[int, str, str, str]]
    chunks: list[Chunk]


def read_all(path: Path, layout: Layout, chunk_rows: int = 50_000) -> Whole:
    chunks = list(read(path, layout, chunk_rows=chunk_rows))
    return Whole(
        lines=[int(n) for chunk in chunks for n in chunk.lines],
        stamps=[int(n) for chunk in chunks for n in chunk.stamps],
        values=np.concatenate([chunk.values for chunk in chunks]),
        flags=np.concatenate([chunk.flags for chunk in chunks]),
        problems=[(p.line, p.column, p.value, p.code) for chunk in chunks for p in chunk.problems],
        chunks=chunks,
    )


def write(path: Path, text: str, encoding: str = "utf-8") -> Path:
    path.write_bytes(text.encode(encoding))
    return path
