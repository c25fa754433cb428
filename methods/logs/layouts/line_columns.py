"""Columns that say something of their whole line: whose it is, whether it is any good, and a sign before its value."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from methods.logs.layouts.values_meant import meant_by
from methods.logs.sketch import Sketch, has_moment, is_number
from methods.logs.types import Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.values.cells import sign_flag
from methods.logs.words.state_words import (
    STATUS_NAMES,
    is_bad,
    is_good,
    is_step,
    names_state,
    qualifies,
    speaks_of_states,
)
from methods.logs.words.substance_words import parameters_in, tokens
from methods.logs.words.unit_spellings import read_unit
from methods.logs.words.vocabulary import word_set
from methods.quantities.flags import WORDS, Flag

LINE_ROLES = (ColumnRole.SOURCE, ColumnRole.STATUS)
#: More different texts than these are no sources, and no states: a number of the line, a remark, a counter.
MOST_SOURCES, MOST_STATES = 40, 40
_SOURCE = word_set(
    "serial sn device node station location site room sensor probe channel logger instrument meter id zone place "
    "point monitor tag gerat geratenummer seriennummer standort raum messstelle sonde kanal appareil salle lieu sonda "
    "zimmer piece vano pokoj pomieszczenie dispositivo habitacion ubicacion stanza luogo ruimte locatie apparaat"
)
#: What a line may be a kind of, or a remark on: spoken of where a few texts come again and again.
_KIND = word_set(
    "kind type mode remark remarks comment comments note notes art typ messart betriebsart modus bemerkung bemerkungen "
    "kommentar anmerkung notiz genre remarque remarques commentaire tipo modo modalita comentario observacion "
    "observaciones nota osservazione osservazioni soort opmerking opmerkingen slag lage anmarkning anteckning "
    "bemærkning bemærkninger merknad huomautus huomautukset uwaga uwagi komentarz poznámka poznámky megjegyzés "
    "observação observações açıklama примечание примечания комментарий примітка σχόλια 備考 备注 備註 비고"
)
MOST_TEXTS_OF_KINDS, LONGEST_KIND = 8, 30
_LETTER_AND_NUMBER = re.compile(r"[^\W\d_].*\d|\d.*[^\W\d_]")
_SIGN = frozenset(("<", ">", "=", "≤", "≥", "~", "<=", ">="))


def find_line_columns(sketch: Sketch) -> None:
    """Sets their roles among the columns that are left; what is in them is known when the whole file was seen."""
    for column in sketch.layout.columns:
        if column.role is not ColumnRole.IGNORE:
            continue
        if role := _role(sketch, column):
            sketch.set_column(column.index, role=role)
        elif _are_told(texts := _with_empty(sketch, column)):
            sketch.set_column(column.index, seen=texts)


def _role(sketch: Sketch, column: Column) -> ColumnRole | None:
    cells, named = sketch.cells(column.index), sketch.headings[column.index]
    if cells and _SIGN.issuperset(cells):
        return ColumnRole.SIGN
    if named.time_word or named.unit or named.long_word == "unit" or not _is_short(cells) or _names_parameters(cells):
        return None
    words = set(tokens(column.name))
    if (
        words & STATUS_NAMES
        or (words & _KIND and _are_kinds(cells))
        or (names_state(column.name) and _are_states(cells))
    ):
        return ColumnRole.STATUS
    if not column.name and not speaks_of_states(_with_empty(sketch, column)) and _are_nameless_sources(cells):
        return ColumnRole.SOURCE
    if not words & _SOURCE or named.parameter or any(word.isdigit() for word in words):
        return None  # "Channel 2" is a channel and holds its values
    return ColumnRole.SOURCE if not all(map(is_number, cells)) or 2 * len(set(cells)) <= len(cells) else None


def _are_kinds(texts: Iterable[str]) -> bool:
    """Few and short: no free text."""
    different = set(texts)
    return len(different) <= MOST_TEXTS_OF_KINDS and all(len(text) <= LONGEST_KIND for text in different)


def _are_states(cells: Sequence[str]) -> bool:
    """As yes and no are, letters, and 0 and 1: no amounts."""
    return bool(cells) and _are_kinds(cells) and all(len(text) == 1 or not is_number(text) for text in cells)


def _are_nameless_sources(cells: Sequence[str]) -> bool:
    """Few texts, each a room or a device by its words ("room 1"), or by a letter and a number, and met again ("A1")."""
    texts = tuple(dict.fromkeys(cells))
    if not _are_told(texts):
        return False
    if any(is_number(text) or read_unit(text) or has_moment(text) for text in texts):
        return False
    come_again = 2 * len(texts) <= len(cells)
    return all(_SOURCE & _words(t) for t in texts) or (come_again and all(map(_LETTER_AND_NUMBER.search, texts)))


def _words(text: str) -> set[str]:
    return {word for token in tokens(text) if (word := token.strip("0123456789"))}


def _are_told(texts: Sequence[str]) -> bool:
    """Whether they are worth to be kept for what was said of an earlier file, or is of a later one."""
    return bool(texts) and _are_kinds(texts) and not all(text and is_number(text) for text in texts)


def could_be_signs(sketch: Sketch, column: Column) -> bool:
    """A column with nothing in it as far as sniffing looked."""
    nameless = not column.name or not sketch.headings[column.index].parameter
    return column.role is ColumnRole.IGNORE and nameless and not sketch.cells(column.index)


def could_be_states(sketch: Sketch, column: Column) -> bool:
    """A column of few texts under a name that tells nothing, as far as sniffing looked."""
    cells, named = sketch.cells(column.index), sketch.headings[column.index]
    if column.role is not ColumnRole.IGNORE or not cells or named.time_word or named.unit:
        return False
    return _are_kinds(cells) and not all(map(is_number, cells)) and not _names_parameters(cells)


def could_speak(sketch: Sketch, column: Column, *, complete: bool) -> bool:
    """Whether a column that is left out is to be looked through for signs and states; ``complete``: sniffing saw all
    of it."""
    if complete:
        return could_be_states(sketch, column) and speaks_of_states(_with_empty(sketch, column))
    return could_be_signs(sketch, column) or could_be_states(sketch, column)


def _with_empty(sketch: Sketch, column: Column) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row[column.index].strip() for row in sketch.data if column.index < len(row)))


def as_spoken(column: Column, seen: Iterable[str]) -> Column:
    """A column that was looked through, as what all its texts make it."""
    texts = tuple(seen)
    told = {text for text in texts if text}
    if told and _SIGN.issuperset(told):
        return replace(column, role=ColumnRole.SIGN)
    if _are_kinds(told) and speaks_of_states(texts):
        return replace(column, role=ColumnRole.STATUS, seen=texts, keep=None)
    return replace(column, seen=texts if _are_told(texts) else ())


def _names_parameters(cells: Sequence[str]) -> bool:
    """As a column does that says what each line measured."""
    return parameters_in(cells) > 0.3 * len(cells)


def _is_short(cells: Sequence[str]) -> bool:
    return all(len(cell) <= 60 and not (is_number(cell) and "." in cell) for cell in cells)


def settled(column: Column, seen: Iterable[str]) -> Column:
    """A SOURCE or STATUS column when all its texts are known: put aside where it says nothing."""
    texts = tuple(seen)
    words = set(tokens(column.name))
    if words & _KIND and not words & (STATUS_NAMES | _SOURCE) and not _are_kinds(text for text in texts if text):
        return _aside(column)
    if column.role is ColumnRole.SOURCE:
        counts_lines = len(texts) > MOST_SOURCES and all(map(is_number, texts))
        if len(texts) < 2 or counts_lines:
            return _aside(column, () if counts_lines else texts)
        return replace(column, seen=texts[: MOST_SOURCES + 1])
    return _as_states(column, texts)


def _as_states(column: Column, texts: tuple[str, ...]) -> Column:
    """A constant says nothing, unless all lines are bad: that is for a person to say."""
    states = [text for text in texts if text]
    counts_on = len(states) > MOST_TEXTS_OF_KINDS and all(map(is_number, states))
    if len(texts) < 2 or not states:
        if not any(is_bad(text) or is_step(text) for text in states):
            return _aside(column, texts)
        keep = None
    elif counts_on and not set(tokens(column.name)) & STATUS_NAMES:
        return _aside(column)
    else:
        is_known = all(is_good(text) or (is_bad(text) and not sign_flag(text)) for text in states)
        keep = tuple(text for text in texts if not text or is_good(text)) if is_known else None
    return replace(column, seen=texts[: MOST_STATES + 1], keep=keep)


def _aside(column: Column, said: tuple[str, ...] = ()) -> Column:
    """``said``: what stands in each line; somebody may have said of an earlier file what that means."""
    return replace(column, role=ColumnRole.IGNORE, seen=said)


# --- what is asked ----------------------------------------------------------------------------------------------------

ALL, BUT, SIGNS, NO_LINE = "all", "but", "signs", "none"


def line_questions(layout: Layout) -> list[LayoutQuestion]:
    """What nobody has said of these columns yet; ``column`` is the place in ``Layout.columns``."""
    return [
        _source_question(at, column) if column.role is ColumnRole.SOURCE else _status_question(layout, at, column)
        for at, column in enumerate(layout.columns)
        if column.role in LINE_ROLES and column.keep is None
    ]


def _source_question(at: int, column: Column) -> LayoutQuestion:
    shown = ", ".join(f"“{text}”" if text else "nothing" for text in column.seen[:4])
    many = f"{len(column.seen)}" if len(column.seen) <= MOST_SOURCES else f"more than {MOST_SOURCES}"
    name = f"“{column.name}”" if column.name else f"Column {column.index + 1}"
    count = f"{many} sources" if len(column.seen) > 1 else "another source"
    text = (
        f"{name} names {count} ({shown}{', …' if len(column.seen) > 4 else ''}): are all "
        "lines of the one meter chosen for this file, or only those of one source? The file can be handed in again for "
        "each other meter."
    )
    few = column.seen if len(column.seen) <= MOST_SOURCES else ()
    only = ((f"{n}", f"only the lines of “{source}”") for n, source in enumerate(few) if source)
    return LayoutQuestion("sources", text, ((ALL, "all lines are of this one meter"), *only), at)


def _status_question(layout: Layout, at: int, column: Column) -> LayoutQuestion:
    if len(column.seen) > MOST_STATES:
        text = f"“{column.name}” has very many different texts: does it say which lines are no good?"
        return LayoutQuestion("status", text, ((ALL, "no: all lines count"),), at)
    name = f"“{column.name}”" if column.name else f"Column {column.index + 1}"
    same = f"says “{column.seen[0]}” in each line" if column.seen[0] else "says nothing in any line"
    differs = "differs from line to line" if len(column.seen) > 1 else same
    text = f"{name}{_beside(layout, column)} {differs}: which lines count as readings?"
    each = enumerate(column.seen) if len(column.seen) > 1 else ()
    only = ((f"{n}", f"only those with {_quoted(state)}") for n, state in each)
    none = ((NO_LINE, "no line"),) if len(column.seen) == 1 and not _but(column) else ()
    choices = ((ALL, "all lines"), *_but(column), *only, *none, *_signs(layout, column))
    return LayoutQuestion("status", text, choices, at)


def _quoted(text: str) -> str:
    return f"“{text}”" if text else "nothing there"


def _beside(layout: Layout, column: Column) -> str:
    """Which column it speaks of, where it is not of all."""
    meant = [layout.values[k].name for k in meant_by(layout, column)]
    return f" beside “{meant[0]}”" if len(meant) == 1 < len(layout.values) and meant[0] else ""


def _good_of(column: Column) -> tuple[str, ...]:
    return tuple(text for text in column.seen if not qualifies(text) or is_good(text))


def _but(column: Column) -> tuple[tuple[str, str], ...]:
    """All without those that are bad by their words, where that is not one state alone."""
    good = _good_of(column)
    bad = [text for text in column.seen if text not in good]
    return ((BUT, f"all but those with {', '.join(map(_quoted, bad))}"),) if bad and len(good) != 1 else ()


def _signs(layout: Layout, column: Column) -> tuple[tuple[str, str], ...]:
    """Below detection and over range, as a sign before the value says it: of one value in each line."""
    told = [text for text in column.seen if text and not is_good(text)]
    if len(layout.values) != 1 or not told or not all(map(sign_flag, told)):
        return ()
    said = ", ".join(f"{_quoted(text)} is {WORDS[Flag(sign_flag(text))].partition(':')[0]}" for text in told)
    return ((SIGNS, f"as signs before the value: {said}"),)


def answered(column: Column, choice: str) -> Column:
    """``column`` as a choice of its question says. ValueError for one that there is not."""
    if choice == SIGNS:
        return replace(column, role=ColumnRole.SIGN)
    if choice == NO_LINE:
        return replace(column, keep=())
    if choice == BUT:
        return replace(column, keep=_good_of(column))
    return replace(column, keep=column.seen if choice == ALL else (column.seen[int(choice)],))


def choice_of(column: Column) -> str:
    """The choice that :func:`answered` put into effect; "" where it was none of them."""
    if column.role is ColumnRole.SIGN:
        return SIGNS
    if column.keep is None or column.keep == column.seen:
        return ALL if column.keep else ""
    if len(column.keep) == 1:
        return str(column.seen.index(column.keep[0]))
    if column.keep == _good_of(column):
        return BUT
    return "" if column.keep else NO_LINE


def carried(fresh: Column, before: Column, said: Column) -> Column:
    """``fresh`` as a person ``said`` of ``before``, the same column of an earlier file; new texts are asked about.

    So is a file that holds nothing but what was not to count, though the column says the same in each of its lines.
    """
    if fresh.role is ColumnRole.IGNORE and fresh.seen and said.keep is not None and set(said.keep) < set(before.seen):
        fresh = replace(fresh, role=said.role)
    if said.role is ColumnRole.SIGN and set(fresh.seen) <= set(before.seen):
        return replace(fresh, role=ColumnRole.SIGN)
    if said.role is not fresh.role or said.keep is None:
        return fresh
    if not set(fresh.seen) <= set(before.seen):
        return fresh
    keep = tuple(text for text in fresh.seen if text in said.keep)
    return replace(fresh, keep=keep or None)
