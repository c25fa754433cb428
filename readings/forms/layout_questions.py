"""Which control of the page answers a question, and what leaves out the columns of which nobody says anything."""

from __future__ import annotations

import re
from collections.abc import Sequence

from methods.logs.column_roles import IGNORE_CHOICE, NONE_CHOICE
from methods.logs.types import LayoutQuestion

#: Questions that a control of their own answers, once for the file.
AS_IT_STANDS = ("clock_column", "twelve_hours", "swapped_dates", "few_lines")  # what the file says is right, or is left
#: Their codes are the names of their controls.
ONCE = (*AS_IT_STANDS, "stamp_column", "decimal", "serial_epoch", "encoding", "month_language")
#: Questions about one column that a control of their own answers.
OF_A_COLUMN = {
    "same_parameter": "same", "sources": "sources", "status": "status", "doubtful": "doubtful", "probe": "probe",
}  # fmt: skip


def own_control(question: LayoutQuestion) -> str:
    """The name of the control that answers this question alone; "" where the columns' own controls do."""
    if question.code == "channel":
        _, channel = question.choices[0][0].split(" ", 1)
        return f"channel-{re.sub(r'[^a-z0-9]+', '-', channel.casefold())}"
    if question.code in OF_A_COLUMN:
        return f"{OF_A_COLUMN[question.code]}-{question.column}"
    return question.code if question.code in ONCE else ""


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
