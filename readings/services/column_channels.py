"""Which channel of the instrument does a column of the file belong to? And which columns are none of its own?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from campaigns.models import Channel, Instrument
from methods.logs.column_roles import IGNORE_CHOICE, NONE_CHOICE, column_words
from methods.logs.layout_answers import answer, channel_choice, in_order
from methods.logs.types import Column, Layout, LayoutQuestion, LogProblem
from methods.quantities.substances import SUBSTANCES

#: Questions that a column left out does not ask.
OF_A_VALUE = ("parameter", "unit", "doubtful")
#: More of these, and the channels that lack a column are asked about instead of every column.
MOST_COLUMNS = 3

Kinds = set[tuple[str, str]]
Rows = Sequence[Sequence[str]]


def without_strange_columns(
    layout: Layout, questions: tuple[LayoutQuestion, ...], instrument: Instrument, rows: Rows = ()
) -> tuple[Layout, tuple[LayoutQuestion, ...]]:
    """What the channels of ``instrument`` answer of a file.

    Where every channel has its column, nobody is asked about columns that are none of its own: they are left out, and
    what was asked of them with them. Where a channel has none and many columns are not known, it is asked which of them
    is the channel's; the others are left out. ``rows``: the first lines of the file as cells, from line 1 on.
    """
    wanted: Kinds = {(c.spec.parameter, c.spec.unit) for c in instrument.channels.select_related("spec")}
    lacking = sorted(wanted - {(column.parameter or "", column.unit or "") for column in layout.values})
    asked = {q.column for q in questions if q.code in OF_A_VALUE and q.column is not None}
    if not wanted or (lacking and len(asked) <= MOST_COLUMNS):
        return layout, questions
    strange = {at for at in asked if not _is_of(layout, at, wanted)}
    channels = [_channel_question(layout, kind, sorted(strange), rows, instrument) for kind in lacking]
    for at in sorted(strange):
        layout = answer(layout, LayoutQuestion("parameter", "", (), at), IGNORE_CHOICE[0])
    left = (q for q in questions if q.column not in strange or q.code not in (*OF_A_VALUE, "same_parameter"))
    return layout, in_order([*left, *(question for question in channels if question)])


def _is_of(layout: Layout, at: int, wanted: Kinds) -> bool:
    """Whether the column holds, or may hold, what a channel measures."""
    column = layout.columns[at]
    return (column.parameter, column.unit) in wanted


def _channel_question(
    layout: Layout, kind: tuple[str, str], open_to: Sequence[int], rows: Rows, instrument: Instrument
) -> LayoutQuestion | None:
    """Which of the columns that nobody knows is the one of a channel; None where none of them can be."""
    parameter, unit = kind
    data = rows[max(0, layout.first_data_line - 1) :]
    choices = [
        (channel_choice(at, parameter, unit), column_words(layout, at, lambda i: [r[i] for r in data if i < len(r)]))
        for at in open_to
        if layout.columns[at].parameter in (None, parameter) and layout.columns[at].unit in (None, unit)
    ]
    if not choices:
        return None
    name = SUBSTANCES[parameter].name.lower() if parameter in SUBSTANCES else parameter
    text = (
        f"{instrument} measures {name} in {unit}, and no column is called that: which one is it? The others are left "
        "out."
    )
    return LayoutQuestion("channel", text, (*choices, NONE_CHOICE))


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
