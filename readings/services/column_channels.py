"""Which channel of the instrument does a column of the file belong to? And which columns are none of its own?"""

from __future__ import annotations

from collections.abc import Iterable

from campaigns.models import Channel, Instrument
from methods.logs.column_roles import IGNORE_CHOICE
from methods.logs.layout_answers import answer
from methods.logs.types import Column, Layout, LayoutQuestion, LogProblem
from methods.quantities.substances import SUBSTANCES

#: Questions that a column left out does not ask.
OF_A_VALUE = ("parameter", "unit", "doubtful")


def without_strange_columns(
    layout: Layout, questions: tuple[LayoutQuestion, ...], instrument: Instrument
) -> tuple[Layout, tuple[LayoutQuestion, ...]]:
    """Where every channel of ``instrument`` has its column, nobody is asked about columns that are none of its own:
    they are left out, and what was asked of them with them."""
    wanted = {(c.spec.parameter, c.spec.unit) for c in instrument.channels.select_related("spec")}
    there = {(column.parameter, column.unit) for column in layout.values}
    if not wanted or not wanted <= there:
        return layout, questions
    strange = {
        question.column
        for question in questions
        if question.code in OF_A_VALUE and question.column is not None and not _is_of(layout, question.column, wanted)
    }
    for at in sorted(strange):
        layout = answer(layout, LayoutQuestion("parameter", "", (), at), IGNORE_CHOICE[0])
    return layout, tuple(q for q in questions if q.column not in strange or q.code not in OF_A_VALUE)


def _is_of(layout: Layout, at: int, wanted: set[tuple[str, str]]) -> bool:
    """Whether the column holds, or may hold, what a channel measures."""
    column = layout.columns[at]
    return (column.parameter, column.unit) in wanted


def match(layout: Layout, instrument: Instrument) -> tuple[list[Channel | None], list[LogProblem]]:
    """For each VALUE column its channel, or None with a problem that says why its values are not stored."""
    channels = list(instrument.channels.select_related("spec"))
    matched: list[Channel | None] = []
    problems: list[LogProblem] = []
    for column in layout.values:
        channel = next(
            (c for c in channels if (c.spec.parameter, c.spec.unit) == (column.parameter, column.unit)), None
        )
        matched.append(channel)
        if channel is None:
            problems.append(_unmatched(column, layout.header_line, instrument, channels))
    return matched, problems


def _unmatched(column: Column, line: int, instrument: Instrument, channels: Iterable[Channel]) -> LogProblem:
    same = [c.spec.unit for c in channels if c.spec.parameter == column.parameter]
    substance = SUBSTANCES.get(column.parameter or "")
    name = substance.name if substance else column.name
    if same:
        code = "unit-differs"
        message = (
            f"“{column.name}” is in {column.unit or 'no named unit'}, but {instrument} measures {name.lower()} in "
            f"{' or '.join(same)}. Nothing of this column is stored. If the instrument was switched to another unit, "
            "add a channel with that unit to its type and read the file again."
        )
    else:
        code = "no-channel"
        message = (
            f"“{column.name}” ({name}, {column.unit or 'no unit'}): {instrument} has no such channel. Nothing of this "
            "column is stored. Add the channel to the instrument type if the values matter, and read the file again."
        )
    return LogProblem(line=line, column=column.name, value=column.unit or "", code=code, message=message)
