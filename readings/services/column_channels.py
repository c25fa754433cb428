"""Which channel of the instrument does a column of the file belong to? And which columns are none of its own?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from campaigns.models import Channel, Instrument
from methods.logs.layouts.column_roles import IGNORE_CHOICE, NONE_CHOICE, column_words
from methods.logs.layouts.layout_answers import answer, channel_choice, in_order
from methods.logs.sketch import Cells
from methods.logs.types import Column, Layout, LayoutQuestion, LogProblem
from methods.quantities.substances import SUBSTANCES

#: Questions that a column left out does not ask.
OF_A_VALUE = ("parameter", "unit", "doubtful")
#: More of these, and the channels that lack a column are asked about instead of every column.
MOST_COLUMNS = 3

Kinds = set[tuple[str, str]]
Rows = Sequence[Cells]


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
        channel = _channel_of(column, channels)
        if channel is None:
            problems.append(_unmatched(column, layout.header_line, instrument, channels))
        elif channel in matched:
            problems.append(_taken(column, layout.header_line, channel))
            channel = None
        matched.append(channel)
    return matched, problems


def _channel_of(column: Column, channels: Iterable[Channel]) -> Channel | None:
    """Of several probes the one that the column is of; a lone channel takes it whatever its probe is called."""
    alike = [c for c in channels if (c.spec.parameter, c.spec.unit) == (column.parameter, column.unit)]
    return next((c for c in alike if c.spec.probe == column.probe), alike[0] if len(alike) == 1 else None)


def _taken(column: Column, line: int, channel: Channel) -> LogProblem:
    message = (
        f"“{column.name}” is said to be {channel.spec}, as a column before it is. Nothing of it is stored: say on the "
        "page of the layout what it is, or leave it out there."
    )
    return LogProblem(line, column.name, column.unit or "", "no-channel", message)


def _unmatched(column: Column, line: int, instrument: Instrument, channels: Iterable[Channel]) -> LogProblem:
    same = [c.spec.unit for c in channels if c.spec.parameter == column.parameter]
    substance = SUBSTANCES.get(column.parameter or "")
    name = substance.name if substance else column.name
    if column.unit in same:
        probes = (c.spec.probe or "without a name" for c in channels if c.spec.parameter == column.parameter)
        code = "no-channel"
        message = (
            f"“{column.name}”: {instrument} has several probes for {name.lower()} ({', '.join(probes)}), and nobody "
            "said of which this is. Nothing of this column is stored: say it on the page of the layout."
        )
    elif same:
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
