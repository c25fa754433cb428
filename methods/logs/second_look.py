"""What the first look takes for no log: deeper into the file, with delimiters that hardly anybody uses, and for the few
readings among many other lines."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from methods.logs import delimited
from methods.logs.files.sources import open_source
from methods.logs.messages import SHOWN
from methods.logs.other_tables import asked_of_others
from methods.logs.sketch import Sketch, explained
from methods.logs.stamps.nearest_time import nearest
from methods.logs.stamps.stamp_formats import start_of
from methods.logs.text.encoding_choice import sketch_of
from methods.logs.text.sample import FileSample, take_sample
from methods.logs.types import LayoutQuestion

#: A sketch that explains less than this is not taken for a log.
LEAST = 0.3
#: So far down readings may begin.
DEEP = 4_000
#: What stands in numbers, dates and names is no delimiter.
_NEVER = frozenset(" \t,;|.:-+/'\"()[]{}<>=%°_")
#: A delimiter stands in so many of the lines, equally often.
_SHARE = 0.8
FEWEST = 3


def second_look(path: Path) -> tuple[Sketch | None, FileSample]:
    """The best sketch of a text, None where it is no log, and the lines that were looked at.

    A sketch of few readings among other lines asks whether those are all. Raises Unreadable as the first look.
    """
    with open_source(path) as source:
        sample = take_sample(source, DEEP)
    best = sketch_of(sample, _sketches)
    if best is None or best.score >= LEAST:
        return best, sample
    found = _sketches(sample)
    few = max(found, key=lambda sketch: (sketch.weight, len(sketch.data)))
    if few.weight < 10 or len(few.data) < FEWEST or not few.layout.values or not _says_when(few):
        return _without_time(found) or asked_of_others(found), sample
    few.questions.append(_few_lines(few))
    return few, sample


def _without_time(found: list[Sketch]) -> Sketch | None:
    """A table whose time nobody could read, but a person may: each line has what looks like one."""
    tables = [sketch for sketch in found if sketch.layout.values and explained(sketch) >= _SHARE]
    return next((sketch for sketch in tables if len(sketch.data) >= FEWEST and nearest(sketch) is not None), None)


def _sketches(sample: FileSample) -> list[Sketch]:
    usual = delimited.without_outdone(delimited.sketches(sample))
    return [*usual, *delimited.sketches(sample, _rare_delimiters(sample))]


def _rare_delimiters(sample: FileSample) -> list[str]:
    lines = [line for line in sample.lines if line.strip()]
    times: dict[str, Counter[int]] = {}
    for line in lines:
        for character, count in Counter(line[:1000]).items():
            if not character.isalnum() and character not in _NEVER and character.isascii():
                times.setdefault(character, Counter())[count] += 1
    steady = {character: counts.most_common(1)[0][1] for character, counts in times.items()}
    return [character for character, lines_alike in steady.items() if lines_alike >= _SHARE * len(lines)][:3]


def _few_lines(sketch: Sketch) -> LayoutQuestion:
    first = sketch.layout.first_data_line
    line = sketch.layout.delimiter.join(sketch.rows[first - 1])[:SHOWN]
    text = (
        f"Only {len(sketch.data):,} of the first {len(sketch.rows):,} lines look like readings (line {first}: "
        f"“{line}”): are those the readings of this file?"
    )
    return LayoutQuestion("few_lines", text, (("read", "yes: the other lines are none"),))


def _says_when(sketch: Sketch) -> bool:
    """Among other lines only whole stamps tell readings: times of day stand in prose, too."""
    return bool(sketch.layout.stamp_format) and not start_of(sketch.layout.stamp_format)
