"""The encoding of a file that is not Unicode: chosen where its words tell, else asked with the heads side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from methods.logs.messages import SHOWN_OF_A_LINE, shortened
from methods.logs.sketch import Sketch
from methods.logs.text.encodings import ENCODINGS, renamed
from methods.logs.text.sample import FileSample, in_encoding
from methods.logs.types import Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.words.reserved_words import reserved
from methods.logs.words.substance_words import single_words, tokens
from methods.logs.words.unit_spellings import fits, only_unit
from methods.logs.words.vocabulary import heading

CODE = "encoding"
#: What explains clearly less of the file is out: a byte of a character may look like a mark between cells.
EXPLAINED = 0.8
Sketches = Callable[[FileSample], list[Sketch]]


def best_of(sketches: Sequence[Sketch]) -> Sketch | None:
    return max(sketches, key=lambda sketch: sketch.score, default=None)


def sketch_of(sample: FileSample, sketches: Sketches) -> Sketch | None:
    """The best sketch in the encoding whose words are known; with a question where several differ by no known word."""
    found: dict[tuple[object, ...], Sketch] = {}
    for encoding in sample.encodings or (sample.encoding,):
        best = best_of(sketches(in_encoding(sample, encoding)))
        if best is not None:
            found.setdefault(_meaning(best), best)
    if not found:
        return None
    highest = max(sketch.score for sketch in found.values())
    able = [sketch for sketch in found.values() if sketch.score >= EXPLAINED * highest]
    most = max(map(_known, able))
    able = [sketch for sketch in able if _known(sketch) == most]
    best_spelled = max(map(_well_spelled, able))
    able = [sketch for sketch in able if _well_spelled(sketch) == best_spelled]
    if len(able) > 1:
        able[0].questions.append(_question(able))
    return able[0]


def _meaning(sketch: Sketch) -> tuple[object, ...]:
    """What hangs on the encoding: the columns, and the texts that name what the lines hold."""
    named = (ColumnRole.PARAMETER, ColumnRole.UNIT)
    texts = [tuple(sorted(set(sketch.cells(c.index)))) for c in sketch.layout.columns if c.role in named]
    return (*((c.name, c.role, c.parameter, c.unit) for c in sketch.layout.columns), *texts)


def _known(sketch: Sketch) -> int:
    words = sum(bool(h.parameter) + bool(h.unit) + bool(h.time_word) + bool(h.long_word) for h in sketch.headings)
    told = (ColumnRole.PARAMETER, ColumnRole.UNIT)
    return words + sum(bool(c.parameter) + bool(c.unit) + 3 * (c.role in told) for c in sketch.layout.columns)


def _well_spelled(sketch: Sketch) -> int:
    """How many words of the names have foreign letters and are known as whole words: "Humidité", and not "HumiditÚ", of
    which only the beginning is known."""
    words = {word for column in sketch.layout.columns for word in column.name.split() if not word.isascii()}
    known = reserved() | single_words()
    return sum(known.issuperset(tokens(word)) for word in words if tokens(word))


def _question(able: Sequence[Sketch]) -> LayoutQuestion:
    choices = [(s.layout.encoding, f"{ENCODINGS[s.layout.encoding]}: {_head(s)}") for s in able]
    text = (
        "The letters of this file can be read in several ways: in which one is the line of names right? Numbers and "
        "dates are the same in all of them."
    )
    return LayoutQuestion(CODE, text, tuple(choices))


def _head(sketch: Sketch) -> str:
    """The line of names, or the first with other than ASCII letters."""
    at = sketch.layout.header_line - 1
    rows = [sketch.rows[at]] if at >= 0 and not "".join(sketch.rows[at]).isascii() else sketch.rows
    row = next((row for row in rows if not "".join(row).isascii()), rows[0])
    text = " | ".join(cell.strip() for cell in row)
    if len(text) > SHOWN_OF_A_LINE:  # the others are the same in all of them
        text = " | ".join(cell.strip() for cell in row if not cell.isascii()) or text
    return shortened(text, SHOWN_OF_A_LINE)


def with_encoding(layout: Layout, encoding: str) -> Layout:
    """``layout`` for a file in ``encoding``: its columns are called, and if they are readings understood, as they read
    then."""
    columns = tuple(_renamed(column, layout.encoding, encoding) for column in layout.columns)
    return replace(layout, encoding=encoding, columns=columns)


def _renamed(column: Column, before: str, after: str) -> Column:
    now = renamed(column, before, after)
    if now.name == column.name or column.role is not ColumnRole.VALUE:
        return now
    said = heading(now.name)
    parameter = column.parameter or said.parameter
    unit = column.unit or said.unit
    if parameter:
        unit = unit if unit and fits(unit, parameter) else None if said.unclear else only_unit(parameter)
    return replace(now, parameter=parameter, unit=unit)
