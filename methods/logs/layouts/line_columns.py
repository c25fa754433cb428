"""Columns that say something of their whole line: whose it is, whether it is any good, and a sign before its value."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from methods.logs.sketch import Sketch, is_number
from methods.logs.types import Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.values.cells import MISSING_WORDS
from methods.logs.words.substance_words import parameter_of, tokens
from methods.logs.words.vocabulary import word_set

LINE_ROLES = (ColumnRole.SOURCE, ColumnRole.STATUS)
#: More different texts than these are no sources, and no states: a number of the line, a remark, a counter.
MOST_SOURCES, MOST_STATES = 40, 40
_SOURCE = word_set(
    "serial sn device node station location site room sensor probe channel logger instrument meter id zone place "
    "point monitor tag gerat geratenummer seriennummer standort raum messstelle sonde kanal appareil salle lieu sonda "
    "dispositivo habitacion ubicacion stanza luogo ruimte locatie apparaat"
)
_STATUS = word_set(
    "status state error errors fault valid validity quality flag flags alarm etat estado stato zustand fehler"
)
#: What a line may be a kind of, or a remark on: spoken of where a few texts come again and again.
_KIND = word_set(
    "kind type mode remark remarks comment comments note notes art typ messart betriebsart modus bemerkung bemerkungen "
    "kommentar anmerkung notiz genre remarque remarques commentaire tipo modo modalita comentario observacion "
    "observaciones nota osservazione osservazioni soort opmerking opmerkingen slag lage anmarkning anteckning"
)
MOST_TEXTS_OF_KINDS, LONGEST_KIND = 8, 30
_SIGN = frozenset(("<", ">", "=", "≤", "≥", "~", "<=", ">="))
#: States that need no question, whatever the column is called: "true" is good under "valid" and bad under "error".
#: Common practice, no source.
GOOD = word_set("ok good valid normal measuring running run ready pass passed gut gultig bon bien valido v g okay none")
BAD = frozenset(MISSING_WORDS) | word_set(
    "sensor_error sensorfehler fehler erreur defaut ungultig falla defekt defect warmup warming low_battery "
    "calibration calibrating maintenance ol overrange underrange"
)


def find_line_columns(sketch: Sketch) -> None:
    """Sets their roles among the columns that are left; what is in them is known when the whole file was seen."""
    for column in sketch.layout.columns:
        if column.role is ColumnRole.IGNORE and (role := _role(sketch, column)):
            sketch.set_column(column.index, role=role)


def _role(sketch: Sketch, column: Column) -> ColumnRole | None:
    cells, named = sketch.cells(column.index), sketch.headings[column.index]
    if cells and _SIGN.issuperset(cells):
        return ColumnRole.SIGN
    if named.time_word or named.unit or named.long_word == "unit" or not _is_short(cells) or _names_parameters(cells):
        return None
    words = set(tokens(column.name))
    if words & _STATUS or (words & _KIND and _are_kinds(cells)):
        return ColumnRole.STATUS
    if not words & _SOURCE or named.parameter or any(word.isdigit() for word in words):
        return None  # "Channel 2" is a channel and holds its values
    return ColumnRole.SOURCE if not all(map(is_number, cells)) or 2 * len(set(cells)) <= len(cells) else None


def _are_kinds(texts: Iterable[str]) -> bool:
    """Few and short: no free text."""
    different = set(texts)
    return len(different) <= MOST_TEXTS_OF_KINDS and all(len(text) <= LONGEST_KIND for text in different)


def could_be_signs(sketch: Sketch, column: Column) -> bool:
    """A column with nothing in it as far as sniffing looked."""
    nameless = not column.name or not sketch.headings[column.index].parameter
    return column.role is ColumnRole.IGNORE and nameless and not sketch.cells(column.index)


def as_signs(column: Column, seen: Iterable[str]) -> Column:
    texts = {text for text in seen if text}
    return replace(column, role=ColumnRole.SIGN) if texts and _SIGN.issuperset(texts) else column


def _names_parameters(cells: Sequence[str]) -> bool:
    """As a column does that says what each line measured."""
    return sum(parameter_of(cell) is not None for cell in cells) > 0.3 * len(cells)


def _is_short(cells: Sequence[str]) -> bool:
    return all(len(cell) <= 60 and not (is_number(cell) and "." in cell) for cell in cells)


def settled(column: Column, seen: Iterable[str]) -> Column:
    """A SOURCE or STATUS column when all its texts are known: put aside where it says nothing."""
    texts = tuple(seen)
    words = set(tokens(column.name))
    if words & _KIND and not words & (_STATUS | _SOURCE) and not _are_kinds(text for text in texts if text):
        return _aside(column)
    if column.role is ColumnRole.SOURCE:
        counts_lines = len(texts) > MOST_SOURCES and all(map(is_number, texts))
        if len(texts) < 2 or counts_lines:
            return _aside(column)
        return replace(column, seen=texts[: MOST_SOURCES + 1])
    states = [text for text in texts if text]
    if not _known(states):
        keep = None
        if len(texts) < 2:
            return _aside(column)
    else:
        keep = tuple(text for text in texts if not text or _is_good(text))
    return replace(column, seen=texts[: MOST_STATES + 1], keep=keep)


def _aside(column: Column) -> Column:
    return replace(column, role=ColumnRole.IGNORE)


def _is_good(text: str) -> bool:
    return text.strip().casefold() in GOOD


def _known(states: Sequence[str]) -> bool:
    return all(_is_good(text) or text.strip().casefold() in BAD for text in states)


# --- what is asked ----------------------------------------------------------------------------------------------------

ALL = "all"


def line_questions(layout: Layout) -> list[LayoutQuestion]:
    """What nobody has said of these columns yet; ``column`` is the place in ``Layout.columns``."""
    return [
        _source_question(at, column) if column.role is ColumnRole.SOURCE else _status_question(at, column)
        for at, column in enumerate(layout.columns)
        if column.role in LINE_ROLES and column.keep is None
    ]


def _source_question(at: int, column: Column) -> LayoutQuestion:
    shown = ", ".join(f"“{text}”" if text else "nothing" for text in column.seen[:4])
    count = f"{len(column.seen)}" if len(column.seen) <= MOST_SOURCES else f"more than {MOST_SOURCES}"
    text = (
        f"“{column.name}” names {count} sources ({shown}{', …' if len(column.seen) > 4 else ''}): are all "
        "lines of the one meter chosen for this file, or only those of one source? The file can be handed in again for "
        "each other meter."
    )
    few = column.seen if len(column.seen) <= MOST_SOURCES else ()
    only = ((f"{n}", f"only the lines of “{source}”") for n, source in enumerate(few) if source)
    return LayoutQuestion("sources", text, ((ALL, "all lines are of this one meter"), *only), at)


def _status_question(at: int, column: Column) -> LayoutQuestion:
    if len(column.seen) > MOST_STATES:
        text = f"“{column.name}” has very many different texts: does it say which lines are no good?"
        return LayoutQuestion("status", text, ((ALL, "no: all lines count"),), at)
    text = f"“{column.name}” differs from line to line: which lines count as readings?"
    only = ((f"{n}", f"only those with “{state}”") for n, state in enumerate(column.seen) if state)
    return LayoutQuestion("status", text, ((ALL, "all lines"), *only), at)


def kept_by(column: Column, choice: str) -> tuple[str, ...]:
    """``Column.keep`` as a choice of its question says. ValueError for one that there is not."""
    return column.seen if choice == ALL else (column.seen[int(choice)],)


def choice_of(column: Column) -> str:
    """The choice that :func:`kept_by` made ``Column.keep`` of; "" where it was none of them."""
    if column.keep is None or column.keep == column.seen:
        return ALL if column.keep else ""
    return str(column.seen.index(column.keep[0])) if len(column.keep) == 1 else ""


def carried(fresh: Column, before: Column, said: Column) -> Column:
    """``fresh`` as a person ``said`` of ``before``, the same column of an earlier file; new texts are asked about."""
    if said.role is not fresh.role or said.keep is None:
        return fresh
    if not set(fresh.seen) <= set(before.seen):
        return fresh
    keep = tuple(text for text in fresh.seen if text in said.keep)
    return replace(fresh, keep=keep or None)
