"""What was answered to the questions of a file, read off the layout that was made of it: how the controls stand."""

from __future__ import annotations

from methods.logs.layouts.column_roles import IGNORE_CHOICE, NONE_CHOICE
from methods.logs.layouts.layout_answers import NO_PROBE_NAME, channel_choice
from methods.logs.layouts.line_columns import choice_of
from methods.logs.stamps.rival_columns import is_said
from methods.logs.types import ColumnRole, Layout, LayoutQuestion
from methods.logs.values import fills
from methods.logs.values.plausible import FRACTION, KEEP, THOUSANDS
from readings.forms.layout_questions import AS_IT_STANDS, own_control
from readings.services.understanding import Understood


def said_of_lines(understood: Understood, base: Layout, layout: Layout) -> dict[str, str]:
    """What was settled of columns that speak of their line, and of values that were doubted."""
    said = {}
    for question in understood.questions:
        column = layout.columns[question.column or 0]
        if question.code in ("sources", "status") and (column.keep is not None or column.role is ColumnRole.SIGN):
            said[own_control(question)] = choice_of(column)
        elif question.code == "doubtful":
            was = base.columns[question.column or 0].unit
            left_out = column.role is not ColumnRole.VALUE
            grouped = THOUSANDS if layout.thousands and not base.thousands else KEEP
            grouped = FRACTION if column.scale != 1 else grouped
            said[own_control(question)] = (
                IGNORE_CHOICE[0] if left_out else grouped if column.unit == was else column.unit or ""
            )
        elif question.code == "probe":
            said[own_control(question)] = (
                (column.probe or NO_PROBE_NAME) if column.role is ColumnRole.VALUE else IGNORE_CHOICE[0]
            )
        elif question.code == fills.CODE:
            said[question.code] = next((value for value, _ in question.choices if fills.is_said(layout, value)), "")
        elif question.code in AS_IT_STANDS:
            said[question.code] = question.choices[0][0]
    return said


def said_of_one_column(understood: Understood, layout: Layout) -> dict[str, str]:
    """Which of several columns was named for the time, and for each channel."""
    channels = {
        channel_choice(place, column.parameter, column.unit)
        for place, column in enumerate(layout.columns)
        if column.role is ColumnRole.VALUE and column.parameter and column.unit
    }

    def is_in_use(question: LayoutQuestion, value: str) -> bool:
        return is_said(layout, value) if question.code == "stamp_column" else value in channels

    return {
        own_control(question): next((v for v, _ in question.choices if is_in_use(question, v)), NONE_CHOICE[0])
        for question in understood.questions
        if question.code in ("stamp_column", "channel")
    }
