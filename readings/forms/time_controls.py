"""Controls for the time of a file: where it begins, and how its stamps are written."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

from django import forms

from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.layouts.layout_answers import answer
from methods.logs.layouts.layout_wording import clock_words
from methods.logs.stamps.hour_columns import AS_HEADED, SHIFTED
from methods.logs.stamps.interval_stamps import CODE as INTERVAL
from methods.logs.stamps.interval_stamps import end_said
from methods.logs.stamps.lone_times import with_direction
from methods.logs.stamps.stamp_examples import with_example, with_typed_format
from methods.logs.stamps.stamp_formats import compiled
from methods.logs.stamps.start_questions import open_start, typed_ms, typed_text
from methods.logs.stamps.time_columns import NO_CLOCK
from methods.logs.stamps.time_parts import FULL_PARTS
from methods.logs.stamps.zone_columns import NO_ZONE, ZONE_CHOICE
from methods.logs.types import DATE, LOCAL, MOMENT, UTC, YEAR, ColumnRole, Layout, LayoutQuestion
from readings.services.preview import Rows

START, START_TYPED, FORMAT, EXAMPLE = "start", "start_typed", "stamp_format", "stamp_example"
CLOCK, AS_SAID, OWN_CLOCK = "clock", "file", "instrument"
ONE_TIME = (
    "The time of a reading stands in one column of dates and times, or in one of dates and one of times of day, or "
    "each part of it in a column of its own: choose one or the other, and no part twice."
)
NO_TIME = (
    "What stands in the column chosen for the time is not a date and time that can be read: say how it is written, or "
    "what the first one means."
)
_INPUTS = {
    DATE: forms.DateInput(attrs={"type": "date"}),
    MOMENT: forms.DateTimeInput(attrs={"type": "datetime-local", "step": "1"}),
    YEAR: forms.NumberInput(attrs={"min": "1990", "max": "2199"}),
}
_OTHERS = {DATE: "Or another date", MOMENT: "Or another date and time", YEAR: "Or another year"}
_FORMAT_HELP = (
    "%Y year, %m month, %d day, %b name of the month, %j day of the year, %H hour, %M minute, %S second, %p AM or PM, "
    "%z zone; other marks as they stand, a bar (|) between columns."
)
Pairs = tuple[tuple[str, str], ...]
Fault = Callable[[str, str], None]


def start_fields(question: LayoutQuestion) -> dict[str, forms.Field]:
    """A choice of what the file suggests, and a field to type another date, moment or year."""
    fields: dict[str, forms.Field] = {}
    if question.choices:
        fields[START] = forms.ChoiceField(
            choices=question.choices, required=False, label=question.message, widget=forms.RadioSelect
        )
    label = _OTHERS[question.answer_kind] if question.choices else question.message
    fields[START_TYPED] = forms.CharField(
        required=False, max_length=40, label=label, widget=_INPUTS[question.answer_kind]
    )
    return fields


def start_said(layout: Layout, asked: LayoutQuestion | None) -> dict[str, str]:
    """How the controls stand that make ``layout``."""
    said = typed_text(layout)
    offered = {value for value, _ in asked.choices} if asked else set()
    return {} if not said else {START: said} if said in offered else {START_TYPED: said}


def started(layout: Layout, asked: LayoutQuestion, chosen: str, typed: str, rows: Rows, fault: Fault) -> Layout:
    """``layout`` with its beginning as it was chosen or typed; what was typed counts before what was chosen."""
    layout = with_direction(layout, _data(layout, rows))
    if not typed and chosen not in {value for value, _ in asked.choices}:
        return layout
    try:
        return answer(layout, asked, typed or chosen)
    except ValueError as error:
        fault(START_TYPED if typed else START, str(error))
        return layout


def start_of_layout(layout: Layout, asked: LayoutQuestion | None, *, moved: bool) -> LayoutQuestion | None:
    """What is to be asked of where ``layout`` begins: as it was first asked, unless its stamps are other ones now."""
    bare = open_start(layout)
    if bare is None:
        return None
    return asked if asked is not None and not moved else bare


def time_said(base: Layout, layout: Layout, clocks: Pairs, parts: Pairs) -> dict[str, str]:
    """What was answered of the time and the text of ``base`` to make ``layout``: of ``clocks`` and ``parts`` (value,
    words) those that its columns are."""
    clock = layout.stamp_format.rpartition("\t")[2]
    roles = {column.index: column.role.value for column in layout.columns}
    in_use = (value for value, _ in parts if value.split() == [roles[at] for at in range(len(value.split()))])
    said = {name: layout.stamp_format for name in ("serial_epoch", "elapsed_unit")}
    said |= {"encoding": layout.encoding, "month_language": compiled(layout.stamp_format).language}
    said["zone_column"] = ZONE_CHOICE if compiled(layout.stamp_format).has_zone else NO_ZONE
    said[CLOCK] = OWN_CLOCK if layout.basis == LOCAL else AS_SAID
    said[INTERVAL] = end_said(layout.stamp_format)
    said["hours"] = AS_HEADED if layout.hours == base.hours else SHIFTED
    return said | {"clock_column": clock if clock in dict(clocks) else NO_CLOCK, "time_parts": next(in_use, "")}


def format_fields(layout: Layout, rows: Rows) -> dict[str, forms.Field]:
    """How the stamps are written, typed out, or by what the first of them means."""
    first = next((text for line in _data(layout, rows) if (text := _stamp_text(layout, line))), "")
    shown = f"The first is “{first[:60]}”. " if first else ""
    return {
        EXAMPLE: forms.CharField(
            required=False,
            max_length=40,
            label="What the first stamp means",
            help_text=f"{shown}Say which date and time that is, and how it is written follows from it.",
            widget=forms.DateTimeInput(attrs={"type": "datetime-local", "step": "1"}),
        ),
        FORMAT: forms.CharField(required=False, max_length=80, label="How stamps are written", help_text=_FORMAT_HELP),
    }


def clock_fields(base: Layout) -> dict[str, forms.Field]:
    """Of a file that names its zone once, whether that is true of its stamps."""
    if base.basis != UTC or base.utc_offset is None:
        return {}
    choices = ((AS_SAID, f"{clock_words(base)}"), (OWN_CLOCK, "on the clock of the instrument, whatever the file says"))
    return {CLOCK: forms.ChoiceField(choices=choices, required=False, label="Stamps are")}


def on_clock(layout: Layout, said: str) -> Layout:
    own = said == OWN_CLOCK and layout.utc_offset is not None
    return replace(layout, basis=LOCAL, utc_offset=None) if own else layout


def formatted(layout: Layout, text: str, example: str, rows: Rows, fault: Fault) -> Layout:
    """``layout`` with the stamp format that was typed, or follows from an example."""
    try:
        if text:
            layout = with_typed_format(layout, text)
    except ValueError as error:
        fault(FORMAT, str(error))
        return layout
    try:
        return with_example(layout, _data(layout, rows), typed_ms(example, MOMENT)) if example else layout
    except ValueError as error:
        fault(EXAMPLE, str(error))
        return layout


def time_fault(layout: Layout) -> str:
    """What is wrong with the columns chosen for the time; "" for nothing, and where none is chosen."""
    counts = Counter(column.role for column in layout.columns)
    parts = [role for role in FULL_PARTS if counts[role]]
    dates = [role for role in parts if role not in (ColumnRole.HOUR, ColumnRole.MINUTE, ColumnRole.SECOND)]
    whole, date, time = counts[ColumnRole.STAMP], counts[ColumnRole.DATE], counts[ColumnRole.TIME]
    if not stamp_columns(layout):
        return ""  # a question that is open anyway
    twice = whole + date > 1 or any(counts[role] > 1 for role in parts)
    beside = (whole and (time or parts)) or (date and dates) or (time and len(parts) > len(dates))
    if layout.stamp_format:  # words of one date may stand in several columns
        return ONE_TIME if twice or (beside and len(re.split(r"\t", layout.stamp_format)) == 1) else ""
    return ONE_TIME if twice or beside else NO_TIME


def _data(layout: Layout, rows: Rows) -> list[list[str]]:
    return [cells for line, cells in rows if line >= layout.first_data_line]


def _stamp_text(layout: Layout, cells: list[str]) -> str:
    return " ".join(cells[at].strip() for at in stamp_columns(layout) if at < len(cells)).strip()
