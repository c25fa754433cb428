"""Which control of the page answers a question, and what leaves out the columns of which nobody says anything."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any

from django import forms

from methods.logs.layouts.column_roles import IGNORE_CHOICE, NONE_CHOICE
from methods.logs.types import ColumnRole, Layout, LayoutQuestion
from readings.forms.time_controls import START, START_TYPED

Choices = list[tuple[str, Any]]
NOT_SAID = ("", "Choose")
#: More choices than this are a list to open, fewer are all in view.
IN_VIEW = 6

#: Questions that a control of their own answers, once for the file.
AS_IT_STANDS = ("twelve_hours", "swapped_dates", "still_date", "few_lines")  # what the file says is right, or is left
OF_THE_TIME = ("stamp_column", "clock_column", "zone_column", "time_parts", "elapsed_unit", "interval")
#: Their codes are the names of their controls.
ONCE = (
    *AS_IT_STANDS,
    *OF_THE_TIME,
    "decimal",
    "mixed_decimals",
    "serial_epoch",
    "hours",
    "encoding",
    "month_language",
    "fill",
)
#: Questions about one column that a control of their own answers.
OF_A_COLUMN = {
    "same_parameter": "same", "sources": "sources", "status": "status", "doubtful": "doubtful", "probe": "probe",
}  # fmt: skip


Questions = tuple[LayoutQuestion, ...]
Probing = Callable[[Layout], tuple[Layout, Questions]]
SAME_PROBE = "Two columns are said to be of the same probe: each probe has one column. Leave the other one out."


def unprobed(layout: Layout) -> tuple[Layout, Questions]:
    """Where no instrument is known, or one without several probes."""
    return layout, ()


def own_control(question: LayoutQuestion) -> str:
    """The name of the control that answers this question alone; "" where the columns' own controls do."""
    if question.code == "channel":
        _, channel = question.choices[0][0].split(" ", 1)
        return f"channel-{re.sub(r'[^a-z0-9]+', '-', channel.casefold())}"
    if question.code in OF_A_COLUMN:
        return f"{OF_A_COLUMN[question.code]}-{question.column}"
    return question.code if question.code in ONCE else ""


def controls_of(question: LayoutQuestion) -> list[str]:
    """All that stand among the questions for it."""
    if question.code == "parameter":
        return [f"column-{question.column}", f"unit-{question.column}"]
    if question.code == "unit":
        return [f"unit-{question.column}"]
    if question.code == "day_or_month":
        return ["order"]
    return [START, START_TYPED] if question.code == START else [own_control(question)]


def leaving_out(questions: Sequence[LayoutQuestion]) -> dict[str, str]:
    """By the name of a control, the choice that leaves its column out, or none of its columns in."""
    ways = {
        "parameter": ("column-{}", IGNORE_CHOICE[0]),
        "unit": ("unit-{}", IGNORE_CHOICE[0]),
        "doubtful": ("doubtful-{}", IGNORE_CHOICE[0]),
        "same_parameter": ("same-{}", NONE_CHOICE[0]),
        "probe": ("probe-{}", IGNORE_CHOICE[0]),
    }
    out = {ways[q.code][0].format(q.column): ways[q.code][1] for q in questions if q.code in ways}
    return out | {own_control(question): NONE_CHOICE[0] for question in questions if question.code == "channel"}


def one_of(choices: Choices, label: str) -> forms.ChoiceField:
    """A question: all choices in view where they are few."""
    if len(choices) <= IN_VIEW:
        return forms.ChoiceField(choices=choices, required=False, label=label, widget=forms.RadioSelect)
    return forms.ChoiceField(choices=[NOT_SAID, *choices], required=False, label=label)


def is_twin_question(question: LayoutQuestion) -> bool:
    return question.code == "same_parameter"


def places(question: LayoutQuestion) -> list[int]:
    """The places that a question about several columns offers."""
    return [int(value) for value, _ in question.choices if value != NONE_CHOICE[0]]


def are_twins(layout: Layout, question: LayoutQuestion) -> bool:
    """Whether two of the columns would still go to one channel."""
    columns = [layout.columns[place] for place in places(question)]
    kinds = [(column.parameter, column.unit, column.probe) for column in columns if column.role is ColumnRole.VALUE]
    return len(set(kinds)) < len(kinds)
