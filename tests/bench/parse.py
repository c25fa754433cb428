"""How fast and in how much memory a long log is parsed: ``python -m tests.bench.parse [lines]``.

Prints one line for each shape: seconds of one core to sniff and to read, the ratio to ``pandas.read_csv`` of the same
file in the same run, and how much the peak memory grew, for a file and for one ten times as long. Goal: 500,000 lines
of three channels in about a second, at most 150 MB, and the same for the longer file.
"""

from __future__ import annotations

import datetime as dt
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pandas as pd

from methods.logs import read, understand

START = dt.datetime(2024, 1, 15, tzinfo=dt.UTC)
Line = Callable[[dt.datetime, random.Random], str]


def _iso(moment: dt.datetime, chance: random.Random) -> str:
    return f"{moment:%Y-%m-%d %H:%M:%S},{chance.random():.3f},{chance.randint(400, 2000)},{chance.uniform(10, 30):.2f}"


def _spreadsheet(moment: dt.datetime, chance: random.Random) -> str:
    clock = f"{moment.month}/{moment.day}/{moment.year} {moment.hour % 12 or 12}:{moment:%M:%S %p}"
    return f"{clock},{chance.random():.3f},{chance.randint(400, 2000)},{chance.uniform(10, 30):.2f}"


def _continental(moment: dt.datetime, chance: random.Random) -> str:
    numbers = f"{chance.random():.3f};{chance.randint(400, 2000)};{chance.uniform(10, 30):.2f}".replace(".", ",")
    return f"{moment:%d.%m.%Y};{moment:%H:%M:%S};{numbers}"


def _codes(moment: dt.datetime, chance: random.Random) -> str:
    first = chance.choice(["<0.01", "---", "0.01 ppm", "0.02", ">5", ""])
    return f"{moment:%Y-%m-%d %H:%M:%S},{first},{chance.randint(400, 2000)},-200"


#: Header, line, and the format of the stamp, which pandas is told so that it does its best.
SHAPES: dict[str, tuple[str, Line, str]] = {
    "iso": ("Time,HCHO (ppm),CO2 (ppm),Temp (°C)", _iso, "%Y-%m-%d %H:%M:%S"),
    "12-hour": ("Time,HCHO (ppm),CO2 (ppm),Temp (°C)", _spreadsheet, "%m/%d/%Y %I:%M:%S %p"),
    "decimal comma": ("Datum;Zeit;HCHO (ppm);CO2 (ppm);Temp (°C)", _continental, "%d.%m.%Y %H:%M:%S"),
    "codes": ("Time,HCHO (ppm),CO2 (ppm),Temp (°C)", _codes, "%Y-%m-%d %H:%M:%S"),
}


def _lines(head: str, line: Line, count: int) -> Iterator[str]:
    chance = random.Random(1)
    yield head + "\n"
    for i in range(count):
        yield line(START + dt.timedelta(seconds=10 * i), chance) + "\n"


def write_log(path: Path, shape: str, count: int) -> Path:
    head, line, _ = SHAPES[shape]
    with path.open("w", encoding="utf-8") as stream:
        stream.writelines(_lines(head, line, count))
    return path


def measure(path: Path) -> dict[str, float]:
    """Run in a process of its own, so that the peak is this reading's."""
    small = write_log(path.with_suffix(".small"), "iso", 50)
    layout = understand(small, name="small").layout
    assert layout is not None
    list(read(small, layout))  # imports and caches are not the file's
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    started = time.process_time()
    layout = understand(path, name=path.name).layout
    assert layout is not None
    sniffed = time.process_time()
    rows = sum(len(chunk.lines) for chunk in read(path, layout))
    done = time.process_time()
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    return {"rows": rows, "sniff": sniffed - started, "read": done - sniffed, "megabytes": grown / 1024}


def _in_its_own_process(path: Path) -> dict[str, float]:
    command = [sys.executable, "-m", "tests.bench.parse", "--measure", str(path)]
    found: dict[str, float] = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    return found


def _pandas_seconds(path: Path, shape: str) -> float:
    head, _, form = SHAPES[shape]
    continental = ";" in head
    started = time.process_time()
    frame = pd.read_csv(path, sep=";" if continental else ",", decimal="," if continental else ".")
    stamps = frame["Datum"] + " " + frame["Zeit"] if continental else frame["Time"]
    pd.to_datetime(stamps, format=form)
    return time.process_time() - started


def main(count: int) -> None:
    print(f"{'shape':<15}{'lines':>10}{'sniff s':>9}{'read s':>9}{'of pandas':>11}{'grown MB':>10}")
    with tempfile.TemporaryDirectory() as folder:
        for shape in SHAPES:
            for lines in (count, 10 * count) if shape == "iso" else (count,):
                path = write_log(Path(folder) / "log", shape, lines)
                found = _in_its_own_process(path)
                assert found["rows"] == lines
                ratio = found["read"] / _pandas_seconds(path, shape) if lines == count else float("nan")
                print(
                    f"{shape:<15}{lines:>10,}{found['sniff']:>9.2f}{found['read']:>9.2f}{ratio:>11.2f}"
                    f"{found['megabytes']:>10.0f}"
                )


if __name__ == "__main__":
    if sys.argv[1:2] == ["--measure"]:
        print(json.dumps(measure(Path(sys.argv[2]))))
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 500_000)
