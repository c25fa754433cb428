"""How a file is to be read, as a form: one control for each column, the questions on top."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django import forms

from methods.logs.layouts.column_roles import IGNORE_CHOICE, NONE_CHOICE
from methods.logs.layouts.compiled_layout import TIME_ROLES, stamp_columns
from methods.logs.layouts.layout_answers import answer, questions_left
from methods.logs.layouts.layout_corrections import AS_UNDERSTOOD, Choice, with_columns, with_time
from methods.logs.layouts.layout_wording import ROLE_WORDS
from methods.logs.second_look import DEEP
from methods.logs.stamps.date_order import ORDER_QUESTION, ORDER_WORDS, is_undecided, order_of, orders, orders_of
from methods.logs.stamps.interval_stamps import CODE as INTERVAL
from methods.logs.stamps.interval_stamps import interval_question, is_open
from methods.logs.stamps.rival_columns import columns_said
from methods.logs.stamps.stamp_examples import shown_format
from methods.logs.stamps.time_columns import NO_CLOCK
from methods.logs.stamps.zone_columns import with_zone_of_columns
from methods.logs.types import Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.values import fills
from methods.logs.words.unit_spellings import fits
from methods.quantities.substances import SUBSTANCES, UNITS, grouped
from readings.forms import time_controls
from readings.forms.layout_questions import (
    NOT_SAID,
    OF_A_COLUMN,
    OF_THE_TIME,
    SAME_PROBE,
    Choices,
    Probing,
    Questions,
    are_twins,
    controls_of,
    is_twin_question,
    leaving_out,
    one_of,
    own_control,
    places,
    unprobed,
)
from readings.forms.layout_said import said_of_lines, said_of_one_column
from readings.forms.time_controls import CLOCK, EXAMPLE, FORMAT, START, START_TYPED
from readings.services.preview import Rows
from readings.services.understanding import Understood

#: Columns, and kinds of readings of a long file, offered one by one; what lies beyond stays as understood or left out.
OFFERED = 60
#: The page begins to look where sniffing does.
LAST_FIRST_LINE = DEEP

TIMES: Choices = [(role.value, ROLE_WORDS[role]) for role in TIME_ROLES]
LEFT_OUT = (ColumnRole.IGNORE.value, ROLE_WORDS[ColumnRole.IGNORE])
FAR_NUMBERS = "Numbers far from the others, such as 9999"
DECIMALS: Choices = [(".", "a point"), (",", "a comma")]


def _readings() -> Choices:
    """Parameters by group, the usual ones first."""
    return list(grouped())


class LayoutForm(forms.Form):
    """Choices on top of what was understood. ``layout`` is what they make of it, ``missing`` what is still to be said.

    ``rows`` are the first lines as cells, for what the chosen columns show of the time; ``probing`` gives columns to
    the probes of the instrument, and asks what their names do not tell.
    """

    first_data_line = forms.IntegerField(
        min_value=1, max_value=LAST_FIRST_LINE, required=False, label="First line with readings"
    )

    def __init__(
        self, understood: Understood, rows: Rows, data: Mapping[str, Any] | None = None, probing: Probing = unprobed
    ) -> None:
        assert understood.base is not None
        assert understood.layout is not None
        self.understood, self.rows, self.base = understood, rows, understood.base
        self.layout, self.probing, self.of_probes = understood.layout, probing, Questions()
        self.twins = {q.column: places(q) for q in understood.questions if is_twin_question(q)}
        given = {name: str(data[name]) for name in data} if data is not None else self._as_it_is(understood.layout)
        super().__init__(data=self._consistent(given), label_suffix="")
        for question in understood.questions:
            self._ask(question)
        for place in self.offered():
            self._offer(place)
        self.fields |= time_controls.format_fields(understood.layout, rows) | time_controls.clock_fields(self.base)
        if not {"decimal", "mixed_decimals"} & set(self.fields) and self.base.delimiter != ",":
            self.fields["decimal"] = forms.ChoiceField(choices=DECIMALS, required=False, label="Decimals stand after")
        if fills.CODE not in self.fields and any(column.fills for column in self.base.columns):
            choices = [("", "left out, and named"), *fills.choices_for_all()]
            self.fields[fills.CODE] = forms.ChoiceField(choices=choices, required=False, label=FAR_NUMBERS)

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
        values = (value for value, _ in self._choices_of("stamp_column") if value != NONE_CHOICE[0])
        return {at for value in values for at in columns_said(value)[0]}

    def _choices_of(self, code: str) -> tuple[tuple[str, str], ...]:
        asked = self._question_of(code)
        return asked.choices if asked else ()

    def is_twin(self, place: int) -> bool:
        """One of several columns of which a question asks which one is to be used."""
        return any(place in places for places in self.twins.values())

    def _ask(self, question: LayoutQuestion) -> None:
        """The control of a question; those about the date's order and about units have theirs anyway."""
        if name := own_control(question):
            self.fields[name] = one_of(list(question.choices), question.message)

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
            self.fields[f"unit-{place}"] = one_of([*units, IGNORE_CHOICE], label)
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

    def _question(self, code: str, place: int | None) -> LayoutQuestion | None:
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
        if self.understood.settled or not (self._question_of("decimal") or self._question_of("mixed_decimals")):
            said |= dict.fromkeys(("decimal", "mixed_decimals"), layout.decimal)
        said |= time_controls.start_said(layout, self._question_of(START))
        if self.understood.settled:
            said |= self._said_of_time(layout)
            for first, places in self.twins.items():
                kept = [place for place in places if layout.columns[place].role is ColumnRole.VALUE]
                said[f"same-{first}"] = str(kept[0]) if kept else NONE_CHOICE[0]
            said |= said_of_lines(self.understood, self.base, layout) | said_of_one_column(self.understood, layout)
        return said

    def _said_of_time(self, layout: Layout) -> dict[str, str]:
        """Which parts and numbers were settled to be of the time, and a format that only its words would give."""
        said = time_controls.time_said(self.base, layout, *map(self._choices_of, ("clock_column", "time_parts")))
        if layout.stamp_format not in orders(self.base.stamp_format) and not self._is_of_choices(layout):
            said[FORMAT] = shown_format(layout.stamp_format)
        return said

    def _is_of_choices(self, layout: Layout) -> bool:
        """Whether the stamp format is that of an answer, or of the columns as they were chosen."""
        asked = any(self._question_of(code) for code in (*OF_THE_TIME, "serial_epoch", "month_language"))
        return asked or self._with_time(replace(self.base, columns=layout.columns)).stamp_format == layout.stamp_format

    def _with_time(self, layout: Layout) -> Layout:
        return with_time(layout, [cells for line, cells in self.rows if line >= self.base.first_data_line])

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
        if (times := self._question_of("stamp_column")) is not None:  # what was said of other tables counts no more
            layout = self._answered(layout, times)
        if said.get("decimal") and said["decimal"] not in (self.base.decimal, layout.decimal):
            layout = answer(layout, LayoutQuestion("decimal", "", tuple(DECIMALS)), said["decimal"])
        if said.get(fills.CODE) and self._question_of(fills.CODE) is None:
            layout = fills.with_fills(layout, said[fills.CODE])
        if self._is_moved(layout) and not self._is_said_of_time():
            layout = with_zone_of_columns(self._with_time(layout), self.base)
        written = said.get(FORMAT) or "", said.get(EXAMPLE) or ""
        layout = time_controls.formatted(layout, *written, self.rows, self.add_error)
        layout = self._of_intervals(layout)
        if not said.get(FORMAT):  # a format that is written out has its order
            layout = self._ordered(layout)
        layout = self._started(layout)
        if layout.utc_offset is None:  # of the column that is chosen nobody says it
            self.fields.pop(CLOCK, None)
        layout = time_controls.on_clock(layout, said.get(CLOCK, ""))
        layout = self._probed(layout)
        layout = replace(layout, first_data_line=said.get("first_data_line") or layout.first_data_line)
        self.layout = layout if layout == self.base else replace(layout, name="")  # no saved layout says this
        return said

    def _probed(self, layout: Layout) -> Layout:
        """With its columns given to probes, and a control for each whose name does not tell."""
        layout, self.of_probes = self.probing(layout)
        for question in self.of_probes:
            self.fields.setdefault(own_control(question), one_of(list(question.choices), question.message))
            said = str(self.data.get(own_control(question), ""))
            layout = answer(layout, question, said) if said in dict(question.choices) else layout
        return layout

    def _is_moved(self, layout: Layout) -> bool:
        return stamp_columns(layout) != stamp_columns(self.base)

    def _is_said_of_time(self) -> bool:
        """Whether the answer to a question says which columns the time is in, and how it is written."""
        said = (self.cleaned_data.get(name) for name in ("stamp_column", "zone_column", "time_parts", "clock_column"))
        return any(value and value not in (NO_CLOCK, NONE_CHOICE[0]) for value in said)

    def _started(self, layout: Layout) -> Layout:
        """With its beginning, and controls for it where the stamps do not say it."""
        moved = layout.stamp_format != self.base.stamp_format
        asked = time_controls.start_of_layout(layout, self._question_of(START), moved=moved)
        if asked is None:
            return layout
        self.fields |= time_controls.start_fields(asked)
        chosen, typed = (str(self.data.get(name, "")).strip() for name in (START, START_TYPED))
        return time_controls.started(layout, asked, chosen, typed, self.rows, self.add_error)

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
            is_open = is_twin_question(question) or not self._is_answered_otherwise(question, layout)
            return answer(layout, question, said) if said and is_open else layout
        if not said or (question.code in ("serial_epoch", "time_parts", "elapsed_unit") and self._is_moved(layout)):
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
        self.fields["order"] = one_of(list(open_to), label)
        said = str(self.data.get("order", ""))
        return answer(layout, LayoutQuestion("day_or_month", label, open_to), said) if said in dict(open_to) else layout

    def _of_intervals(self, layout: Layout) -> Layout:
        """With the end of its intervals that is the stamp, and a control for it where a column of such was chosen."""
        asked = interval_question(layout.stamp_format)
        if asked is None:
            return layout
        self.fields.setdefault(asked.code, one_of(list(asked.choices), asked.message))
        said = str(self.data.get(asked.code, ""))
        return answer(layout, asked, said) if said in dict(asked.choices) else layout

    def _question_of(self, code: str) -> LayoutQuestion | None:
        return next((q for q in self.understood.questions if q.code == code), None)

    # --- what is still to be said -------------------------------------------------------------------------------------

    def missing(self) -> list[tuple[str, str]]:
        """(what is to be said, id of the control for it); with nothing missing, ``layout`` can be read with."""
        lacking = []
        for question in self.understood.questions:
            name = own_control(question)
            moot = self._is_answered_otherwise(question, self.layout) or question.code == "probe"
            if name in self.fields and not moot and not self.cleaned_data.get(name):
                lacking.append((question.message, self.id_of(name)))
        lacking += [(q.message, self.id_of(n)) for q in self.of_probes if not self.data.get(n := own_control(q))]
        for question in questions_left(self.layout):
            if question.code == "same_parameter" and question.column in {q.column for q in self.of_probes}:
                lacking += [(SAME_PROBE, "columns")] * (not lacking)
            elif question.code == START:
                asked = self.fields[START] if START in self.fields else self.fields[START_TYPED]
                lacking.append((str(asked.label), self.id_of(START if START in self.fields else START_TYPED)))
            elif own_control(question) not in self.fields or not self._question_of(question.code):
                lacking.append((self._words_of(question), self.id_of(self._control(question))))
        if fault := time_controls.time_fault(self.layout):
            lacking.append((fault, "columns"))
        return lacking

    def _is_answered_otherwise(self, question: LayoutQuestion, layout: Layout) -> bool:
        """The column was put to another use meanwhile."""
        if is_twin_question(question):
            return not are_twins(layout, question)
        if question.code in ("time_parts", "elapsed_unit"):
            return self._is_moved(layout)
        if question.code == INTERVAL:
            return not is_open(layout.stamp_format)
        at = question.column or 0
        return question.code in OF_A_COLUMN and layout.columns[at].role is not self.base.columns[at].role

    def _words_of(self, question: LayoutQuestion) -> str:
        asked = self._question(question.code, question.column)
        return asked.message if asked else question.message

    def _control(self, question: LayoutQuestion) -> str:
        if question.code in ("day_or_month", INTERVAL):
            return "order" if question.code == "day_or_month" else INTERVAL
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
        names = [name for question in self.understood.questions for name in controls_of(question)]
        names += [own_control(question) for question in self.of_probes]
        names += [INTERVAL]
        names += ["order"] * is_undecided(self.layout) + [START, START_TYPED]
        shown = [name for name in dict.fromkeys(names) if name in self.fields and not self._is_moot(name)]
        for name in shown:
            # Checked in ``missing``; here it keeps the page from calling it optional.
            self.fields[name].required = not (name == START_TYPED and START in self.fields)
        return [self[name] for name in shown]

    def _is_moot(self, name: str) -> bool:
        """The unit of a column that is left out meanwhile."""
        kind, _, place = name.partition("-")
        return kind == "unit" and self.layout.columns[int(place)].role is not ColumnRole.VALUE
