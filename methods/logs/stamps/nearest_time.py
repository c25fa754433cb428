"""Where no column can be read as the time: which one comes nearest, for the person who is asked."""

from __future__ import annotations

import re

from methods.logs.sketch import Sketch, is_number
from methods.logs.types import LayoutQuestion

#: Two numbers with a mark or a word between them, as dates and times of day have.
_LIKE_MOMENT = re.compile(r"\d\s*[^\d\s.,+]+\s*\d|\d\s*[^\W\d]{2,}")


def no_time_question(sketch: Sketch) -> LayoutQuestion:
    said = "No column was recognised as the date and time of the readings"
    at = nearest(sketch)
    if at is None:
        text = f"{said}: say which one holds it and how it is written, or export the file with it."
    else:
        name, first = sketch.column_named(at) or f"column {at + 1}", sketch.cells(at)[0][:60]
        text = (
            f"{said}. “{name}” comes nearest, it begins with “{first}”: choose that column or another one and say what "
            "its first stamp means, or export the file with a date and time."
        )
    return LayoutQuestion("no_time", text, ())


def nearest(sketch: Sketch) -> int | None:
    """The first column that is called a time, else the first most of whose cells look like one."""
    filled = [at for at in range(sketch.width) if sketch.cells(at)]
    named = [at for at in filled if sketch.headings[at].time_word and not sketch.headings[at].parameter]
    return next(iter([*named, *(at for at in filled if _looks_like_moments(sketch.cells(at)))]), None)


def _looks_like_moments(cells: list[str]) -> bool:
    alike = sum(not is_number(cell) and _LIKE_MOMENT.search(cell[:60]) is not None for cell in cells)
    return 2 * alike > len(cells)
