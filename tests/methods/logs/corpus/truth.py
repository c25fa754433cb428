"""What is in a file, whatever it looks like, and what becomes of it when it is handed in."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

import numpy as np

from methods.logs import Layout, LogProblem, Understanding, Unreadable, understand
from methods.logs.types import UTC
from methods.quantities.flags import Flag
from tests.methods.logs.logs import Whole, clock, ms_of, read_all

#: Flags that a file itself can say.
SAID = int(Flag.BELOW_DETECTION) | int(Flag.OVER_RANGE)


@dataclass(frozen=True, slots=True)
class TrueReading:
    """One reading: when on the logger's clock (or of UTC), of what, in which unit, how much, and a sign before it."""

    ms: int
    parameter: str
    unit: str
    value: float
    sign: int = 0


Truths = frozenset[TrueReading]
#: Problems that put the stamps of a file in doubt, at a line: nothing of it is judged before a person has looked.
DOUBTED = {"twelve_hours", "swapped_dates"}
#: Problems that name one line and speak of all below it, or of a column.
ALL_OF_IT = DOUBTED | {"another_table", "new_key", "lines_above", "formulas", "most_left_out", "starts_again"}
#: One line of the file that was two before the power failed.
TWO_IN_ONE = "torn_line"
Answers = Callable[[Understanding], Layout]


@dataclass(frozen=True)
class LogCase:
    """``answers`` settles what is asked; ``after`` is the truth then, where the answers choose a part of the file.

    ``filename`` is what it is handed in as. ``in_utc``: the file says how its stamps lie to UTC, and is to be read so.
    ``sheet``: the one whose truth it is.
    """

    name: str
    content: bytes
    truth: Truths
    answers: Answers | None = None
    after: Truths | None = None
    in_utc: bool = False
    filename: str = "log"
    sheet: str = ""


class FileEnd(StrEnum):
    EXACT = "exact"
    TOLD = "exact but for lines that are named"
    ASKED = "asked"
    REFUSED = "refused"
    WRONG = "silently wrong"


@dataclass
class Fate:
    outcome: FileEnd
    understood: Understanding
    problems: list[LogProblem] = field(default_factory=list)
    extra: Truths = frozenset()
    missing: Truths = frozenset()

    @property
    def codes(self) -> set[str]:
        return {question.code for question in self.understood.questions} | {problem.code for problem in self.problems}


def counted(whole: Whole, layout: Layout) -> Counter[TrueReading]:
    """What was read, as the truth says it, and how often; cells without a value are not in it."""
    return Counter(
        TrueReading(ms, column.parameter or "", column.unit or "", float(value), int(flag) & SAID)
        for ms, values, flags in zip(whole.stamps, whole.values, whole.flags, strict=True)
        for column, value, flag in zip(layout.values, values, flags, strict=True)
        if not np.isnan(value) and not flag & Flag.SENSOR_ERROR
    )


def fate(case: LogCase, folder: Path) -> Fate:
    """What becomes of the file without anybody's answer."""
    path = folder / "log.txt"
    path.write_bytes(case.content)
    understood = understand(path, name=case.filename)
    if understood.layout is None:
        return Fate(FileEnd.REFUSED, understood, list(understood.problems))
    if understood.questions:
        return Fate(FileEnd.ASKED, understood, list(understood.problems))
    return judged(path, understood, understood.layout, case.truth, in_utc=case.in_utc)


def judged(path: Path, understood: Understanding, layout: Layout, truth: Truths, *, in_utc: bool) -> Fate:
    try:
        whole = read_all(path, layout)
    except Unreadable as error:
        return Fate(FileEnd.REFUSED, understood, list(error.problems))
    problems = [problem for chunk in whole.chunks for problem in chunk.problems]
    problems += [problem for problem in understood.problems if problem.code in ("lines_above", "other_sheets")]
    times = counted(whole, layout)
    found, codes = frozenset(times), {problem.code for problem in problems}
    extra, missing = found - truth, truth - found
    twice = max(times.values(), default=1) > 1 and "duplicate_rows" not in codes
    outcome = FileEnd.EXACT
    if (
        (in_utc and layout.basis != UTC)
        or twice
        or (extra and not (DOUBTED & codes and len(extra) <= len(missing)))
        or (missing and not _is_named(missing, problems))
    ):
        outcome = FileEnd.WRONG
    elif missing or extra:
        outcome = FileEnd.TOLD
    return Fate(outcome, understood, problems, extra, missing)


def _is_named(missing: Truths, problems: list[LogProblem]) -> bool:
    """Whether as many lines are named as stamps are missing, or one below which, or a column in which, all is."""
    codes = {problem.code for problem in problems}
    lines = {problem.line: 1 + (problem.code == TWO_IN_ONE) for problem in problems if problem.line}
    return bool(ALL_OF_IT & codes) or len({t.ms for t in missing}) <= sum(lines.values())


def answered(case: LogCase, folder: Path) -> Fate:
    """What becomes of it with the answers that its user would give."""
    assert case.answers is not None
    path = folder / "log.txt"
    path.write_bytes(case.content)
    understood = understand(path, name=case.filename, sheet=case.sheet)
    if case.sheet and not understood.questions and understood.layout is not None:
        return judged(path, understood, understood.layout, case.truth, in_utc=case.in_utc)
    truth = case.truth if case.after is None else case.after
    return judged(path, understood, case.answers(understood), truth, in_utc=case.in_utc)


START = clock(2026, 9, 15, 8, 0)
MINUTE = dt.timedelta(minutes=1)
#: Readings of a quiet room, written down by hand: decimals as the instruments print them.
FORMALDEHYDE = ("0.031", "0.034", "0.029", "0.042", "0.038", "0.041", "0.036", "0.033", "0.045", "0.040")
CARBON_DIOXIDE = ("612", "618", "655", "701", "688", "1012", "987", "1105", "640", "633")
TEMPERATURE = ("21.4", "21.5", "21.5", "21.6", "21.8", "21.9", "22.0", "22.0", "22.1", "22.2")
HUMIDITY = ("45.2", "45.0", "44.8", "44.9", "44.7", "44.5", "44.6", "44.4", "44.2", "44.1")
MOMENTS = tuple(START + n * MINUTE for n in range(10))
COLUMNS = (
    ("formaldehyde", "ppm", FORMALDEHYDE), ("co2", "ppm", CARBON_DIOXIDE),
    ("temperature", "°C", TEMPERATURE), ("humidity", "%RH", HUMIDITY),
)  # fmt: skip


def truth_of(
    columns: Iterable[tuple[str, str, tuple[str, ...]]] = COLUMNS,
    moments: tuple[dt.datetime, ...] = MOMENTS,
    shift: dt.timedelta = dt.timedelta(0),
) -> Truths:
    """``columns`` of (parameter, unit, texts); ``shift`` from what is written to UTC, where the file says its zone."""
    return frozenset(
        TrueReading(ms_of(moment + shift), parameter, unit, float(text))
        for parameter, unit, texts in columns
        for moment, text in zip(moments, texts, strict=False)
    )
