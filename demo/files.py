"""Log files as five invented instruments would write them: five different shapes, none of them anybody's product.

Pure. A writer gets a table of stamps and values and returns the bytes together with the number of the first data line.
Every file as a whole tells its own date order: there is no day below 13 in it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from demo.shapes import DemoChannel, DemoInstrument, DemoInstrumentType
from methods.quantities.arrays import Bools, Floats, Ints

BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class LogTable:
    """What a memory holds: the logger's own stamps (naive ms), the true times (UTC ms), and values per parameter."""

    stamps: Ints
    utc_ms: Ints
    values: dict[str, Floats]

    def __len__(self) -> int:
        return len(self.stamps)

    def part(self, rows: slice | Bools) -> LogTable:
        """Some of the rows, in the same order."""
        return LogTable(self.stamps[rows], self.utc_ms[rows], {k: v[rows] for k, v in self.values.items()})


@dataclass(frozen=True, slots=True)
class Written:
    content: bytes
    first_line: int  # 1-based number of the first data line


Writer = Callable[[LogTable, DemoInstrument, DemoInstrumentType], Written]


def plain(channel: DemoChannel, values: Floats) -> list[str]:
    """Numbers with the decimals of the channel's resolution, ``>top`` above the range, ``ERR`` for no value.

    Nothing below the range is shown: these instruments know no negative concentrations.
    """
    decimals = _decimals(channel)
    low, high = channel.range_low, channel.range_high
    over = f">{high:.{decimals}f}"
    return ["ERR" if v != v else over if v > high else f"{max(v, low):.{decimals}f}" for v in values.tolist()]


def censored(channel: DemoChannel, values: Floats) -> list[str]:
    """As ``plain``, with ``<limit`` for everything below the detection limit."""
    limit = channel.detection_limit
    texts = plain(channel, values)
    if limit is None:
        return texts
    return [
        f"<{limit:.{_decimals(channel)}f}" if v < limit else text
        for v, text in zip(values.tolist(), texts, strict=True)
    ]


def _decimals(channel: DemoChannel) -> int:
    return max(0, -math.floor(math.log10(channel.resolution)))


def _when(stamps: Ints, pattern: str) -> list[str]:
    whole = np.floor_divide(stamps, 1000).astype("datetime64[s]")
    return [moment.strftime(pattern) for moment in whole.tolist()]


def _columns(
    table: LogTable, kind: DemoInstrumentType, text: Callable[[DemoChannel, Floats], list[str]] = plain
) -> list[list[str]]:
    return [text(channel, table.values[channel.parameter]) for channel in kind.channels]


def _join(head: list[str], columns: list[list[str]], separator: str, newline: str, bom: bytes = b"") -> Written:
    lines = head + [separator.join(cells) for cells in zip(*columns, strict=True)]
    return Written(bom + (newline.join(lines) + newline).encode(), len(head) + 1)


def pocket(table: LogTable, instrument: DemoInstrument, kind: DemoInstrumentType) -> Written:
    """Comma, ISO stamps to the whole minute, five lines before the heading, ``<0.01`` below detection."""
    head = [
        "Stored readings",
        f"Serial number,{instrument.serial}",
        f"Interval,{kind.log_interval_s} s",
        f"Readings,{len(table)}",
        "",
        "Time,Formaldehyde [ppm]",
    ]
    return _join(head, [_when(table.stamps, "%Y-%m-%dT%H:%M"), *_columns(table, kind, censored)], ",", "\n")


def survey(table: LogTable, instrument: DemoInstrument, kind: DemoInstrumentType) -> Written:
    """Semicolon, decimal comma, day first, date and time apart, byte-order mark; below detection is just 0,00."""
    head = [f"Serial;{instrument.serial}", "Date;Time;Formaldehyde (ppm);Temperature (°C);Humidity (%RH)"]
    columns = [[cell.replace(".", ",") for cell in column] for column in _columns(table, kind)]
    dates, times = _when(table.stamps, "%d.%m.%Y"), _when(table.stamps, "%H:%M:%S")
    return _join(head, [dates, times, *columns], ";", "\r\n", BOM)


def fine(table: LogTable, instrument: DemoInstrument, kind: DemoInstrumentType) -> Written:
    """Tab, day first with slashes, units in the heading, ``>0.500`` above the range."""
    head = [f"Serial\t{instrument.serial}", "Stamp\tHCHO [ppm]\tTemperature [°C]"]
    return _join(head, [_when(table.stamps, "%d/%m/%Y %H:%M:%S"), *_columns(table, kind)], "\t", "\r\n")


def shelf(table: LogTable, instrument: DemoInstrument, kind: DemoInstrumentType) -> Written:
    """Wide comma table in mass units, year first, its serial number in a comment line."""
    head = [
        f"# serial number {instrument.serial}",
        "Time,HCHO (µg/m³),CO2 (ppm),Temperature (°C),Humidity (%RH)",
    ]
    return _join(head, [_when(table.stamps, "%Y-%m-%d %H:%M:%S"), *_columns(table, kind)], ",", "\n")


def wall(table: LogTable, instrument: DemoInstrument, kind: DemoInstrumentType) -> Written:
    """Wide semicolon table in volume units, year first with slashes; formaldehyde below detection as ``<5``."""
    head = [
        f"Serial no.;{instrument.serial}",
        "Date and time;Formaldehyde [ppb];Carbon dioxide [ppm];Temperature [°C];Relative humidity [%RH]",
    ]
    return _join(head, [_when(table.stamps, "%Y/%m/%d %H:%M:%S"), *_columns(table, kind, censored)], ";", "\n")


WRITERS: dict[str, Writer] = {"pocket": pocket, "survey": survey, "fine": fine, "shelf": shelf, "wall": wall}
