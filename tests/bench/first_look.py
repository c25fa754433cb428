"""The first look at a log of 256 MB: ``python -m tests.bench.first_look``.

What a person waits for who hands one in before its first lines and questions are shown. Where the first 400 lines leave
something open (day or month, whose lines these are, further parameters) the file is gone through to its end.
"""

from __future__ import annotations

import datetime as dt
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from methods.logs import understand
from tests.bench.stage import Score, show

SIZE, BLOCK, TIMES, GOAL_S = 256_000_000, 100_000, 3, 1.0
START = dt.datetime(2024, 1, 1)  # noqa: DTZ001 - the logger's own clock
SHAPES: dict[str, tuple[str, Callable[[int, dt.datetime], str]]] = {
    "dates beyond doubt": (
        "Time,HCHO (ppm),CO2 (ppm),Temp (°C)",
        lambda k, at: f"{at:%Y-%m-%d %H:%M:%S},0.0{k % 90 + 10},{400 + k % 900},2{k % 9}.{k % 10}",
    ),
    "day or month": (
        "Time;HCHO (ppm);CO2 (ppm);Temp (°C)",
        lambda k, at: f"{at:%d/%m/%Y %H:%M:%S};0,0{k % 90 + 10};{400 + k % 900};2{k % 9},{k % 10}",
    ),
    "a line to each value": (
        "Time;parameter;unit;value",
        lambda k, at: f"{at:%Y-%m-%d %H:%M:%S};{('HCHO;ppb', 'CO2;ppm', 'Temp;°C')[k % 3]};{k % 90 + 10}",
    ),
    "several sources": (
        "Time,Room,HCHO (ppm),CO2 (ppm)",
        lambda k, at: f"{at:%Y-%m-%d %H:%M:%S},room {k % 2},0.0{k % 90 + 10},{400 + k % 900}",
    ),
}


def write_log(path: Path, shape: str) -> None:
    head, line = SHAPES[shape]
    lines = (line(k, START + dt.timedelta(seconds=30 * k)) + "\n" for k in range(BLOCK))
    block = "".join(lines).encode()
    with path.open("wb") as file:
        file.write(f"{head}\n".encode())
        while file.tell() < SIZE:
            file.write(block)


def seconds(path: Path) -> float:
    """The least of a few times."""
    spent = []
    for _ in range(TIMES):
        started = time.perf_counter()
        assert understand(path, name=path.name).layout is not None
        spent.append(time.perf_counter() - started)
    return min(spent)


def main() -> None:
    scores = []
    with tempfile.TemporaryDirectory(prefix="fanlight-look-") as folder:
        for shape in SHAPES:
            path = Path(folder) / "log.csv"
            write_log(path, shape)
            took = seconds(path)
            scores.append(Score(f"first look at 256 MB, {shape}", "", f"{took:.2f} s", "1 s", took <= GOAL_S))
    show(scores)


if __name__ == "__main__":
    main()
