"""Fixed columns: cells stand at the same character places on every line, and may be blank."""

from __future__ import annotations

import re

from methods.logs.delimited import finish
from methods.logs.header import find_header
from methods.logs.sketch import Cells, Sketch, make_sketch
from methods.logs.text.sample import FileSample
from methods.logs.types import Layout

Spans = tuple[tuple[int, int], ...]

_STAMPED = re.compile(r"\d[-/.]\d{1,2}[-/.]\d|\d:\d\d")
_PHRASE = re.compile(r"\S+(?: \S+)*")
_WORD = re.compile(r"\S+")
#: Where runs of blanks explain the file just as well, they are the simpler layout.
HANDICAP = 0.98
FEWEST_LINES, LONGEST_LINE = 3, 2_000


def sketches(sample: FileSample) -> list[Sketch]:
    body = [i for i, line in enumerate(sample.lines) if _STAMPED.search(line) and "\t" not in line]
    if len(body) < FEWEST_LINES or max(map(len, sample.lines)) > LONGEST_LINE:
        return []
    body = _same_start(sample, body)
    spans = _spans([sample.lines[i] for i in body])
    if len(spans) < 2:
        return []
    inside = set(body)
    rows = [_slices(t, spans) if i in inside else _by_place(t, spans) for i, t in enumerate(sample.lines)]
    sketch = make_sketch(rows, Layout("fixed", sample.encoding, sample.container, spans=_to_the_end(spans)))
    if sketch is None or sketch.width != len(spans):
        return []
    find_header(sketch, lambda at: [])
    finished = finish(sketch)
    finished.score *= HANDICAP
    return [finished]


def _same_start(sample: FileSample, body: list[int]) -> list[int]:
    """Without lines of the preamble that hold a date, too: data lines begin alike."""
    shapes = [re.sub(r"\d", "0", sample.lines[i].lstrip()[:5]) for i in body]
    usual = max(set(shapes), key=shapes.count)
    return [i for i, shape in zip(body, shapes, strict=True) if shape == usual]


def _spans(lines: list[str]) -> Spans:
    """Runs of places that are not blank on every line."""
    width = max(map(len, lines))
    solid = [any(at < len(line) and line[at] != " " for line in lines) for at in range(width)] + [False]
    spans, start = [], None
    for at, filled in enumerate(solid):
        if filled and start is None:
            start = at
        elif not filled and start is not None:
            spans.append((start, at))
            start = None
    return tuple(_into_gaps(spans))


def _into_gaps(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Numbers are right-aligned: a longer one further down grows into the gap on its left."""
    starts = [0, *(end for _, end in spans[:-1])]
    return [(start, end) for start, (_, end) in zip(starts, spans, strict=True)]


def _to_the_end(spans: Spans) -> Spans:
    """The last column takes what is left of the line."""
    return (*spans[:-1], (spans[-1][0], spans[-1][1] + 1000))


def _slices(line: str, spans: Spans) -> Cells:
    return [line[start:end].strip() for start, end in _to_the_end(spans)]


def _by_place(line: str, spans: Spans) -> Cells:
    """Words of a line that is no data, each given to the column it stands over; one cell if they do not align."""
    cells = [""] * len(spans)
    found = [(m.start(), m.end(), m[0]) for m in _PHRASE.finditer(line)]
    if len(found) < 2:
        found = [(m.start(), m.end(), m[0]) for m in _WORD.finditer(line)]
    for start, end, text in found:
        touched = [i for i, (a, b) in enumerate(spans) if min(b, end) > max(a, start)]
        words = [(start, end, text)] if len(touched) < 2 else _words(line, start, end)
        for a, b, word in words:
            at = _nearest(spans, a, b)
            cells[at] = f"{cells[at]} {word}".strip()
    return cells if len(found) > 1 else [line]


def _words(line: str, start: int, end: int) -> list[tuple[int, int, str]]:
    return [(m.start(), m.end(), m[0]) for m in _WORD.finditer(line, start, end)]


def _nearest(spans: Spans, start: int, end: int) -> int:
    overlaps = [min(b, end) - max(a, start) for a, b in spans]
    return overlaps.index(max(overlaps))
