"""What a file is: every reader makes its sketch, the best one is taken, and the rest is asked."""

from __future__ import annotations

from pathlib import Path

from readings.formats import delimited
from readings.formats.sample import Sample, take_sample
from readings.formats.sources import open_source
from readings.formats.table import Sketch
from readings.formats.types import Problem, Understanding, Unreadable

PREVIEW = 30
#: A sketch that explains less than this is not taken for a log.
LEAST = 0.3


def understand(path: Path, *, name: str) -> Understanding:
    """Never raises for bad content: then ``layout`` is None and ``problems`` say why. ``name`` is for messages only."""
    try:
        with open_source(path) as source:
            sample = take_sample(source)
    except Unreadable as error:
        return Understanding(None, problems=error.problems)
    best = max(delimited.sketches(sample), key=lambda sketch: sketch.score, default=None)
    if best is None or best.score < LEAST:
        return _no_log(sample, name)
    return Understanding(
        best.layout,
        questions=tuple(best.questions),
        preview=_preview(best),
        confidence=best.score,
    )


def _preview(sketch: Sketch) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(row) for row in sketch.rows[:PREVIEW])


def _no_log(sample: Sample, name: str) -> Understanding:
    text = f"“{name}” does not look like a log: no lines of dates and numbers were found in it."
    problem = Problem(0, "", "", "not_a_log", text)
    return Understanding(None, problems=(problem,), preview=tuple((line[:200],) for line in sample.lines[:PREVIEW]))
