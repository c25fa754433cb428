"""Which of several probes of an instrument a column is of: said by its name, or by a person."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace

from campaigns.models import Instrument
from methods.logs.layouts.column_roles import IGNORE_CHOICE, column_words
from methods.logs.layouts.layout_answers import NO_PROBE_NAME, in_order
from methods.logs.sketch import Cells
from methods.logs.types import Column, ColumnRole, Layout, LayoutQuestion
from readings.models import Upload

Questions = tuple[LayoutQuestion, ...]


def with_probes(
    layout: Layout, questions: Questions, instrument: Instrument, rows: Sequence[Cells]
) -> tuple[Layout, Questions]:
    """Each column of a parameter that ``instrument`` measures with several probes is given to one of them, by the words
    in its name; what is left is asked, column by column. ``rows``: the first lines as cells, from line 1 on."""
    left = list(questions)
    for kind, probes in _probes_of(instrument).items():
        places = [at for at, column in enumerate(layout.columns) if _kind(column) == kind]
        layout, open_places = _named(layout, places, probes)
        left = [q for q in left if q.code != "same_parameter" or q.column not in places]
        data = rows[max(0, layout.first_data_line - 1) :]
        left += [_question(layout, at, probes, data) for at in open_places]
    return layout, in_order(left)


def probing_of(upload: Upload, rows: Sequence[tuple[int, Cells]]) -> Callable[[Layout], tuple[Layout, Questions]]:
    """The same for a layout in the making; ``rows``: lines with their numbers."""
    if upload.instrument is None:
        return lambda layout: (layout, ())
    instrument, last = upload.instrument, max((line for line, _ in rows), default=0)
    numbered = dict(rows)
    cells = [numbered.get(line, []) for line in range(1, last + 1)]
    return lambda layout: with_probes(layout, (), instrument, cells)


def _probes_of(instrument: Instrument) -> dict[tuple[str, str], list[str]]:
    """By parameter and unit the names of its probes, where it has more than one."""
    probes: dict[tuple[str, str], list[str]] = defaultdict(list)
    for channel in instrument.channels.select_related("spec"):
        probes[channel.spec.parameter, channel.spec.unit].append(channel.spec.probe)
    return {kind: names for kind, names in probes.items() if len(names) > 1}


def _kind(column: Column) -> tuple[str | None, str | None] | None:
    return (column.parameter, column.unit) if column.role is ColumnRole.VALUE else None


def _named(layout: Layout, places: Sequence[int], probes: Sequence[str]) -> tuple[Layout, list[int]]:
    """With the probes that names tell beyond doubt, and the places of which they do not."""
    told = {at: _told(layout.columns[at], probes) for at in places}
    sure = {at: probe for at, probe in told.items() if probe is not None and list(told.values()).count(probe) == 1}
    columns = tuple(replace(c, probe=sure[at]) if at in sure else c for at, c in enumerate(layout.columns))
    rest = [at for at in places if at not in sure]
    spare = [probe for probe in probes if probe not in sure.values()]
    if len(rest) == 1 and spare == [""]:  # the one that has no name
        return replace(layout, columns=columns), []
    return replace(layout, columns=columns), rest


def _told(column: Column, probes: Sequence[str]) -> str | None:
    """The one probe all of whose words are in the name of the column, or that was said of it before."""
    if column.probe in probes and column.probe:
        return column.probe
    words = _words(column.name)
    fitting = [probe for probe in probes if probe and _words(probe) <= words]
    return fitting[0] if len(fitting) == 1 else None


def _words(text: str) -> set[str]:
    return set(re.findall(r"[^\W_]+", text.casefold()))


def _question(layout: Layout, at: int, probes: Sequence[str], data: Sequence[Cells]) -> LayoutQuestion:
    shown = column_words(layout, at, lambda index: [row[index] for row in data if index < len(row)])
    choices = ((probe or NO_PROBE_NAME, probe or "the one without a name") for probe in probes)
    return LayoutQuestion("probe", f"Of which probe is “{shown}”?", (*choices, IGNORE_CHOICE), at)
