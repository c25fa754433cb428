"""How a file is to be read, as a form: one control for each column, the questions on top."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django import forms

from methods.logs.column_roles import IGNORE_CHOICE, NONE_CHOICE
from methods.logs.compiled_layout import stamp_columns
from methods.logs.date_order import ORDER_QUESTION, ORDER_WORDS, is_undecided, order_of, orders_of
from methods.logs.layout_answers import NO_PROBE_NAME, answer, channel_choice, questions_left
from methods.logs.layout_corrections import AS_UNDERSTOOD, Choice, with_columns, with_time
from methods.logs.layout_wording import ROLE_WORDS
from methods.logs.line_columns import choice_of
from methods.logs.plausible import KEEP, THOUSANDS
from methods.logs.second_look import DEEP
from methods.logs.stamp_formats import compiled
from methods.logs.types import Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.unit_spellings import fits
from methods.quantities.substances import SUBSTANCES, UNITS, grouped
from readings.forms.layout_questions import AS_IT_STANDS, OF_A_COLUMN, leaving_out, own_control
from readings.services.preview import Rows
from readings.services.understanding import Understood

#: Columns, and kinds of readings of a long file, that are offered one by one; what lies beyond stays as understood, or
#: is left out where it was not.
OFFERED = 60
#: The page begins to look where sniffing does.
LAST_FIRST_LINE = DEEP
#: More choices than this are a list to open, fewer are all in view.
IN_VIEW = 6

Choices = list[tuple[str, Any]]
TIMES: Choices = [(role.value, ROLE_WORDS[role]) for role in (ColumnRole.STAMP, ColumnRole.DATE, ColumnRole.TIME)]
LEFT_OUT = (ColumnRole.IGNORE.value, ROLE_WORDS[ColumnRole.IGNORE])
NOT_SAID = ("", "Choose")
DECIMALS: Choices = [(".", "a point"), (",", "a comma")]
ONE_TIME = (
    "The time of a reading stands in one column of dates and times, or in one of dates and one of times of day: choose "
    "one or the other."
)
NO_TIME = "What stands in the column chosen for the time is not a date and time that can be read."


def _readings() -> Choices:
    """Parameters by group, the usual ones first."""
    return list(grouped())


class LayoutForm(forms.Form):
    """Choices on top of what was understood. ``layout`` is what they make of it, ``missing`` what is still to be said.

    ``rows`` are the first lines as cells, for what the chosen columns show of the time.
    """

    first_data_line = forms.IntegerField(
        min_value=1, max_value=LAST_FIRST_LINE, required=False, label="First line with readings"
    )

    def __init__(self, understood: Understood, rows: Rows, data: Mapping[str, Any] | None = None) -> None:
        assert understood.base is not None
        assert understood.layout is not None
        self.understood, self.rows, self.base = understood, rows, understood.base
        self.layout = understood.layout
        self.twins = {q.column: _places(q) for q in understood.questions if _is_twin(q)}
        given = {name: str(data[name]) for name in data} if data is not None else self._as_it_is(understood.layout)
        super().__init__(data=self._consistent(given), label_suffix="")
        for question in understood.questions:
            self._ask(question)
        for place in self.offered():
            self._offer(place)
        if "decimal" not in self.fields and self.base.delimiter != ",":
            self.fields["decimal"] = forms.ChoiceField(choices=DECIMALS, required=False, label="Decimals stand after")

    # --- the controls -------------------------------------------------------------------------------------------------

    def offered(self) -> list[int]:
        """The places that are to be settled one by one."""
        rivals = set() if self.data.get("stamp_column") == NONE_CHOICE[0] else self._rivals()
        long = any(column.role is ColumnRole.PARAMETER for column in self.base.columns)
        return [
            place
            for place, column in enumerate(self.base.columns[:OFFERED])
            if column.index not in rivals and not (long and column.role in (ColumnRole.PARAMETER, ColumnRole.UNIT))
        ]

    def _rivals(self) -> set[int]:
        """Columns of the file of which a question asks which one is the time."""
        asked = self._question_of("stamp_column")
        values = (value for value, _ in asked.choices if value != NONE_CHOICE[0]) if asked else ()
        return {int(value.split(" ", 1)[0]) for value in values}

    def is_twin(self, place: int) -> bool:
        """One of several columns of which a question asks which one is to be used."""
        return any(place in places for places in self.twins.values())

    def _ask(self, question: LayoutQuestion) -> None:
        """The control of a question; those about the date's order and about units have theirs anyway."""
        if name := own_control(question):
            self.fields[name] = _choice(list(question.choices), question.message)

    def _offer(self, place: int) -> None:
        column = self.base.columns[place]
        question = self._question("parameter", place)
        parameter = column.parameter
        if not self.is_twin(place):
            name = column.name or "no name"
            label = question.message if question else f"Column {column.index + 1}, {name}: what it holds"
            first = [NOT_SAID] if column.role is ColumnRole.VALUE and parameter is None else []
            choices = [*first, *self._uses(column)]
            self.fields[f"column-{place}"] = forms.ChoiceField(choices=choices, required=False, label=label)
            parameter = self.data.get(f"column-{place}", "")
        if parameter and parameter in SUBSTANCES and len(SUBSTANCES[parameter].units) > 1:
            self._offer_unit(place, parameter, on_top=question is not None)

    def _offer_unit(self, place: int, parameter: str, *, on_top: bool) -> None:
        column, asked = self.base.columns[place], self._question("unit", place)
        label = asked.message if asked else f"Unit of {column.name or f'column {column.index + 1}'}"
        units: Choices = [(unit, unit) for unit in SUBSTANCES[parameter].units]
        if asked or on_top:
            self.fields[f"unit-{place}"] = _choice([*units, IGNORE_CHOICE], label)
            return
        choices = units if self.data.get(f"unit-{place}") else [NOT_SAID, *units]
        self.fields[f"unit-{place}"] = forms.ChoiceField(choices=choices, required=False, label=label)

    def _uses(self, column: Column) -> Choices:
        if self.is_kind(column):
            return [*_readings(), LEFT_OUT]
        own = [(column.role.value, ROLE_WORDS[column.role])] if column.role in AS_UNDERSTOOD else []
        (_, usual), *others = _readings()
        return [LEFT_OUT, *own, ("A reading of", usual), ("Time", TIMES), *others]

    def is_kind(self, column: Column) -> bool:
        """One of several kinds of readings that share a column of the file."""
        shared = Counter(c.index for c in self.base.columns)
        return shared[column.index] > 1

    def _question(self, code: str, place: int) -> LayoutQuestion | None:
        return next((q for q in self.understood.questions if (q.code, q.column) == (code, place)), None)

    # --- what is said -------------------------------------------------------------------------------------------------

    def _as_it_is(self, layout: Layout) -> dict[str, str]:
        """The choices that make ``layout``, as the controls would send them; what nobody said yet is left out."""
        said = {"first_data_line": str(layout.first_data_line)}
        for place, column in enumerate(layout.columns):
            said[f"column-{place}"] = (column.parameter or "") if column.role is ColumnRole.VALUE else column.role.value
            said[f"unit-{place}"] = column.unit or ""
        if layout.day_first is not None:
            said["order"] = order_of(layout.stamp_format)
        if self.understood.settled or not self._question_of("decimal"):
            said["decimal"] = layout.decimal
        if self.understood.settled:
            said |= {"serial_epoch": layout.stamp_format, "encoding": layout.encoding}
            said["month_language"] = compiled(layout.stamp_format).language
            for first, places in self.twins.items():
                kept = [place for place in places if layout.columns[place].role is ColumnRole.VALUE]
                said[f"same-{first}"] = str(kept[0]) if kept else NONE_CHOICE[0]
            said |= self._said_of_lines(layout) | self._said_of_one_column(layout)
        return said

    def _said_of_lines(self, layout: Layout) -> dict[str, str]:
        """What was settled of columns that speak of their line, and of values that were doubted."""
        said = {}
        for question in self.understood.questions:
            column = layout.columns[question.column or 0]
            if question.code in ("sources", "status") and column.keep is not None:
                said[own_control(question)] = choice_of(column)
            elif question.code == "doubtful":
                was = self.base.columns[question.column or 0].unit
                left_out = column.role is not ColumnRole.VALUE
                grouped = THOUSANDS if layout.thousands and not self.base.thousands else KEEP
                said[own_control(question)] = (
                    IGNORE_CHOICE[0] if left_out else grouped if column.unit == was else column.unit or ""
                )
            elif question.code == "probe":
                said[own_control(question)] = (
                    (column.probe or NO_PROBE_NAME) if column.role is ColumnRole.VALUE else IGNORE_CHOICE[0]
                )
            elif question.code in AS_IT_STANDS:
                said[question.code] = question.choices[0][0]
        return said

    def _said_of_one_column(self, layout: Layout) -> dict[str, str]:
        """Which of several columns was named for the time, and for each channel."""
        in_use = {" ".join((*map(str, stamp_columns(layout)), layout.stamp_format))} | {
            channel_choice(place, column.parameter, column.unit)
            for place, column in enumerate(layout.columns)
            if column.role is ColumnRole.VALUE and column.parameter and column.unit
        }
        return {
            own_control(question): next((value for value, _ in question.choices if value in in_use), NONE_CHOICE[0])
            for question in self.understood.questions
            if question.code in ("stamp_column", "channel")
        }

    def _consistent(self, given: dict[str, str]) -> dict[str, str]:
        """A unit that is none of the parameter chosen meanwhile is not said any more; a column whose unit is that it
        is left out is left out; where none of several columns is the time, each is whatever is said of it."""
        for place, column in enumerate(self.base.columns):
            parameter, unit = given.get(f"column-{place}", ""), given.get(f"unit-{place}", "")
            if unit == IGNORE_CHOICE[0] and not self.is_twin(place):
                given |= {f"column-{place}": ColumnRole.IGNORE.value, f"unit-{place}": ""}
            elif unit in UNITS and parameter in SUBSTANCES and not fits(unit, parameter):
                given[f"unit-{place}"] = ""
            if given.get("stamp_column") == NONE_CHOICE[0] and column.index in self._rivals():
                given.setdefault(f"column-{place}", ColumnRole.IGNORE.value)
        return given

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        layout = with_columns(self.base, {place: self._choice_at(place) for place in self.offered()} | self._beyond())
        for question in self.understood.questions:
            layout = self._answered(layout, question)
        if said.get("decimal") and said["decimal"] not in (self.base.decimal, layout.decimal):
            layout = answer(layout, LayoutQuestion("decimal", "", tuple(DECIMALS)), said["decimal"])
        if stamp_columns(layout) != stamp_columns(self.base) and said.get("stamp_column", "") in ("", NONE_CHOICE[0]):
            layout = with_time(layout, [cells for line, cells in self.rows if line >= self.base.first_data_line])
        layout = self._ordered(layout)
        layout = replace(layout, first_data_line=said.get("first_data_line") or layout.first_data_line)
        self.layout = layout if layout == self.base else replace(layout, name="")  # no saved layout says this
        return said

    def _beyond(self) -> dict[int, Choice]:
        """What was not understood of columns that nobody can be asked about is left out."""
        return {
            place: (ColumnRole.IGNORE, None, None)
            for place, column in enumerate(self.base.columns[OFFERED:], OFFERED)
            if column.role is ColumnRole.VALUE and (column.parameter is None or column.unit is None)
        }

    def _choice_at(self, place: int) -> Choice:
        column, unit = self.base.columns[place], self.cleaned_data.get(f"unit-{place}") or None
        if unit == IGNORE_CHOICE[0]:
            return ColumnRole.IGNORE, None, None
        if self.is_twin(place):
            return ColumnRole.VALUE, column.parameter, unit
        said = self.cleaned_data.get(f"column-{place}")
        if said is None:  # a choice that is not offered: an error beside it says so
            return column.role, column.parameter, column.unit
        return (
            (ColumnRole.VALUE, said or None, unit) if said in SUBSTANCES or not said else (ColumnRole(said), None, None)
        )

    def _answered(self, layout: Layout, question: LayoutQuestion) -> Layout:
        name = own_control(question)
        said = self.cleaned_data.get(name) if name else None
        if question.code in OF_A_COLUMN:
            is_open = _is_twin(question) or not self._is_answered_otherwise(question, layout)
            return answer(layout, question, said) if said and is_open else layout
        moved = stamp_columns(layout) != stamp_columns(self.base)
        if not said or (question.code == "serial_epoch" and moved):
            return layout
        if question.code == "stamp_column" and said == NONE_CHOICE[0]:
            return layout  # what each of these columns is instead is said of each
        return answer(layout, question, said)

    def _ordered(self, layout: Layout) -> Layout:
        """With the order of day and month, and a control for it where these dates could mean more than one."""
        orders = orders_of(layout)
        if len(orders) < 2:
            return layout
        asked = self._question_of("day_or_month")
        told = dict(asked.choices) if asked and stamp_columns(layout) == stamp_columns(self.base) else {}
        open_to = tuple((order, told.get(order, ORDER_WORDS[order])) for order in orders if not told or order in told)
        label = asked.message if asked else ORDER_QUESTION if layout.day_first is None else "First in the date"
        self.fields["order"] = _choice(list(open_to), label)
        said = str(self.data.get("order", ""))
        return answer(layout, LayoutQuestion("day_or_month", label, open_to), said) if said in dict(open_to) else layout

    def _question_of(self, code: str) -> LayoutQuestion | None:
        return next((q for q in self.understood.questions if q.code == code), None)

    # --- what is still to be said -------------------------------------------------------------------------------------

    def missing(self) -> list[tuple[str, str]]:
        """(what is to be said, id of the control for it); with nothing missing, ``layout`` can be read with."""
        lacking = []
        for question in self.understood.questions:
            name = own_control(question)
            moot = self._is_answered_otherwise(question, self.layout)
            if name in self.fields and not moot and not self.cleaned_data.get(name):
                lacking.append((question.message, self.id_of(name)))
        for question in questions_left(self.layout):
            if own_control(question) not in self.fields:
                lacking.append((self._words_of(question), self.id_of(self._control(question))))
        if fault := _time_fault(self.layout):
            lacking.append((fault, "columns"))
        return lacking

    def _is_answered_otherwise(self, question: LayoutQuestion, layout: Layout) -> bool:
        """The column was put to another use meanwhile."""
        if _is_twin(question):
            return not _are_twins(layout, question)
        at = question.column or 0
        return question.code in OF_A_COLUMN and layout.columns[at].role is not self.base.columns[at].role

    def _words_of(self, question: LayoutQuestion) -> str:
        asked = self._question(question.code, question.column) if question.column is not None else None
        return asked.message if asked else question.message

    def _control(self, question: LayoutQuestion) -> str:
        if question.code == "day_or_month":
            return "order"
        kind = "unit" if question.code == "unit" else "column"
        return f"{kind}-{question.column}"

    def id_of(self, name: str) -> str:
        return self[name].id_for_label or self[name].auto_id if name in self.fields else "columns"

    def open_columns(self) -> dict[str, str]:
        """Controls of columns of which nothing is said yet, and what leaves those columns out."""
        controls = leaving_out(self.understood.questions)
        return {name: out for name, out in controls.items() if name in self.fields and not self.data.get(name)}

    # --- for the page -------------------------------------------------------------------------------------------------

    def questions(self) -> list[forms.BoundField]:
        """The controls that stand on top, in the order in which they were asked."""
        names = []
        for question in self.understood.questions:
            if question.code in ("parameter", "unit"):
                names += [f"column-{question.column}"] if question.code == "parameter" else []
                names += [f"unit-{question.column}"]
            elif question.code == "day_or_month":
                names += ["order"]
            else:
                names += [own_control(question)]
        if is_undecided(self.layout):
            names += ["order"]
        shown = [name for name in dict.fromkeys(names) if name in self.fields and not self._is_moot(name)]
        for name in shown:
            self.fields[name].required = True  # checked in ``missing``; here it keeps the page from calling it optional
        return [self[name] for name in shown]

    def _is_moot(self, name: str) -> bool:
        """The unit of a column that is left out meanwhile."""
        kind, _, place = name.partition("-")
        return kind == "unit" and self.layout.columns[int(place)].role is not ColumnRole.VALUE


def _choice(choices: Choices, label: str) -> forms.ChoiceField:
    """A question: all choices in view where they are few."""
    if len(choices) <= IN_VIEW:
        return forms.ChoiceField(choices=choices, required=False, label=label, widget=forms.RadioSelect)
    return forms.ChoiceField(choices=[NOT_SAID, *choices], required=False, label=label)


def _is_twin(question: LayoutQuestion) -> bool:
    return question.code == "same_parameter"


def _places(question: LayoutQuestion) -> list[int]:
    return [int(value) for value, _ in question.choices if value != NONE_CHOICE[0]]


def _are_twins(layout: Layout, question: LayoutQuestion) -> bool:
    """Whether two of the columns would still go to one channel."""
    columns = [layout.columns[place] for place in _places(question)]
    kinds = [(column.parameter, column.unit, column.probe) for column in columns if column.role is ColumnRole.VALUE]
    return len(set(kinds)) < len(kinds)


def _time_fault(layout: Layout) -> str:
    counts = Counter(column.role for column in layout.columns)
    if not counts[ColumnRole.STAMP] + counts[ColumnRole.DATE]:
        return ""  # a question that is open anyway
    if counts[ColumnRole.STAMP] + counts[ColumnRole.DATE] > 1 or (counts[ColumnRole.STAMP] and counts[ColumnRole.TIME]):
        return ONE_TIME
    return "" if layout.stamp_format else NO_TIME
