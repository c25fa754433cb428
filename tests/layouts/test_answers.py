"""A person's corrections put into a layout, and carried to the next file of its shape."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.logs.layouts.layout_answers import answer, questions_left
from methods.logs.layouts.layout_corrections import carry_over, with_columns, with_time
from methods.logs.stamps.date_order import order_of, orders_of
from methods.logs.stamps.stamp_formats import compiled
from methods.logs.types import EPOCH, LOCAL, Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.types import UTC as IN_UTC
from methods.quantities.substances import SUBSTANCES

STAMP, DATE, TIME, VALUE, IGNORE = (
    ColumnRole.STAMP,
    ColumnRole.DATE,
    ColumnRole.TIME,
    ColumnRole.VALUE,
    ColumnRole.IGNORE,
)
SLASHED = "%d/%m/%Y %H:%M"
ORDER = LayoutQuestion("day_or_month", "", (("day_first", ""), ("month_first", ""), ("year_first", "")))
EPOCH_START = datetime(1970, 1, 1)  # noqa: DTZ001 - a logger's clock has no zone


def a_layout(*columns: Column, form: str = SLASHED, **more: object) -> Layout:
    held = columns or (Column(0, "time", STAMP), Column(1, "HCHO", VALUE, "formaldehyde", None))
    return Layout("delimited", delimiter=";", header_line=1, first_data_line=2, columns=held, stamp_format=form, **more)  # type: ignore[arg-type]


def put(layout: Layout, place: int, **changes: object) -> Layout:
    columns = list(layout.columns)
    columns[place] = replace(columns[place], **changes)  # type: ignore[arg-type]
    return replace(layout, columns=tuple(columns))


class TestOrder:
    @pytest.mark.parametrize(
        ("form", "order", "said"),
        [
            (SLASHED, "day_first", SLASHED),
            (SLASHED, "month_first", "%m/%d/%Y %H:%M"),
            ("%m/%d/%Y %H:%M", "day_first", SLASHED),
            ("%d-%m-%y", "year_first", "%y-%m-%d"),
            ("%y-%m-%d", "day_first", "%d-%m-%y"),
            ("%y-%m-%d", "month_first", "%m-%d-%y"),
            ("%d.%m.%Y\t%H:%M", "month_first", "%m.%d.%Y\t%H:%M"),
        ],
    )
    def test_it_is_put_into_the_format(self, form: str, order: str, said: str) -> None:
        settled = answer(a_layout(form=form), ORDER, order)
        assert settled.stamp_format == said
        assert settled.day_first is (order == "day_first")
        assert order_of(settled.stamp_format) == order

    def test_whatever_order_was_there_before(self) -> None:
        """Changing one's mind ends where saying it at once does."""
        for form in ("%d-%m-%y", "%m-%d-%y", "%y-%m-%d"):
            for order in orders_of(a_layout(form=form)):
                assert answer(a_layout(form=form), ORDER, order) == answer(a_layout(form="%d-%m-%y"), ORDER, order)

    def test_an_order_that_these_dates_do_not_have(self) -> None:
        with pytest.raises(ValueError, match="not written in this order"):
            answer(a_layout(), ORDER, "year_first")

    def test_a_choice_that_is_not_offered(self) -> None:
        narrow = LayoutQuestion("day_or_month", "", (("day_first", ""), ("year_first", "")))
        with pytest.raises(ValueError, match="not a choice"):
            answer(a_layout(form="%d-%m-%y"), narrow, "month_first")

    @pytest.mark.parametrize("form", ["%Y-%m-%d %H:%M", "%d %b %Y", "epoch_s", "serial_1900", ""])
    def test_dates_that_read_in_one_way_only(self, form: str) -> None:
        assert len(orders_of(a_layout(form=form))) < 2

    def test_other_questions_go_through(self) -> None:
        layout = a_layout(form="%Y-%m-%d")
        unit = LayoutQuestion("unit", "", (("ppm", ""), ("mg/m³", "")), 1)
        assert answer(layout, unit, "mg/m³").columns[1].unit == "mg/m³"


class TestColumns:
    def test_a_reading(self) -> None:
        changed = with_columns(a_layout(), {1: (VALUE, "co2", "ppm")})
        assert changed.columns[1] == Column(1, "HCHO", VALUE, "co2", "ppm")
        assert changed.columns[0] == a_layout().columns[0]

    @pytest.mark.parametrize("parameter", [code for code, p in SUBSTANCES.items() if len(p.units) == 1])
    def test_the_only_unit_needs_no_saying(self, parameter: str) -> None:
        assert with_columns(a_layout(), {1: (VALUE, parameter, None)}).columns[1].unit == SUBSTANCES[parameter].units[0]

    def test_a_unit_of_another_parameter_counts_as_not_known(self) -> None:
        changed = with_columns(a_layout(form="%Y-%m-%d"), {1: (VALUE, "formaldehyde", "°C")})
        assert changed.columns[1].unit is None
        assert [q.code for q in questions_left(changed)] == ["unit"]

    def test_what_is_left_out_keeps_neither_parameter_nor_unit(self) -> None:
        layout = put(a_layout(), 1, unit="ppm")
        assert with_columns(layout, {1: (IGNORE, "formaldehyde", "ppm")}).columns[1] == Column(1, "HCHO", IGNORE)

    @pytest.mark.parametrize(
        ("choices", "why"),
        [
            ({7: (IGNORE, None, None)}, "no column 8"),
            ({-1: (IGNORE, None, None)}, "no column 0"),
            ({1: (VALUE, "happiness", None)}, "not a parameter"),
            ({1: (ColumnRole.PARAMETER, None, None)}, "not understood as the parameter"),
            ({0: (ColumnRole.UNIT, None, None)}, "not understood as its unit"),
            ({1: (ColumnRole.SOURCE, None, None)}, "not understood as whose line it is"),
        ],
    )
    def test_what_there_is_not(self, choices: dict[int, tuple[ColumnRole, str | None, str | None]], why: str) -> None:
        with pytest.raises(ValueError, match=why):
            with_columns(a_layout(), choices)

    @given(
        st.dictionaries(
            st.integers(0, 1),
            st.tuples(
                st.sampled_from([STAMP, DATE, TIME, VALUE, IGNORE]),
                st.sampled_from([None, *SUBSTANCES]),
                st.sampled_from([None, "ppm", "°C", "%RH", "µg/m³"]),
            ),
        )
    )
    def test_nothing_is_ever_in_a_unit_that_is_not_its_parameters(
        self, choices: dict[int, tuple[ColumnRole, str | None, str | None]]
    ) -> None:
        for column in with_columns(a_layout(), choices).columns:
            assert (column.role is VALUE) or (column.parameter, column.unit) == (None, None)
            if column.parameter and column.unit:
                assert column.unit in SUBSTANCES[column.parameter].units


class TestTime:
    """Against the standard library's clock: what is written with strftime is read back to the same moment."""

    MOMENTS = tuple(datetime(2026, 3, 7, 22, 30, 5) + timedelta(hours=5, minutes=7) * k for k in range(60))  # noqa: DTZ001

    @pytest.mark.parametrize(
        "form",
        [
            "%Y-%m-%d %H:%M:%S", "%d/%m/%Y %H:%M:%S", "%m/%d/%Y %H:%M:%S", "%Y%m%d%H%M%S", "%d-%b-%Y %H:%M:%S",
            "%Y/%m/%dT%H:%M:%S", "%m/%d/%Y %I:%M:%S %p",
        ],
    )  # fmt: skip
    def test_one_column(self, form: str) -> None:
        layout = with_time(a_layout(form=""), [[f"{moment:{form}}", "0.03"] for moment in self.MOMENTS])
        read = [compiled(layout.stamp_format).parse(f"{moment:{form}}") for moment in self.MOMENTS]
        assert read == [(moment - EPOCH_START) // timedelta(milliseconds=1) for moment in self.MOMENTS]
        assert layout.basis == LOCAL
        assert not questions_left(put(layout, 1, unit="ppm")), "days beyond the 12th settle the order"

    @pytest.mark.parametrize("date", ["%d/%m/%Y", "%Y-%m-%d"])
    @pytest.mark.parametrize("time", ["%H:%M:%S", "%I:%M:%S %p"])
    def test_a_date_and_a_time_of_day(self, date: str, time: str) -> None:
        columns = (Column(0, "", IGNORE), Column(1, "", TIME), Column(2, "", DATE))
        rows = [["x", f"{moment:{time}}", f"{moment:{date}}"] for moment in self.MOMENTS]
        layout = with_time(a_layout(*columns, form=""), rows)
        read = [compiled(layout.stamp_format).parse(f"{row[2]} {row[1]}") for row in rows]
        assert read == [(moment - EPOCH_START) // timedelta(milliseconds=1) for moment in self.MOMENTS]

    def test_a_short_year_could_be_a_day(self) -> None:
        """20.03.26 is the 20th of March 2026, or the 26th of March 2020, and no day beyond the 12th tells which."""
        layout = with_time(a_layout(form=""), [[f"{moment:%d.%m.%y %H:%M}"] for moment in self.MOMENTS])
        assert "day_or_month" in [q.code for q in questions_left(layout)]
        assert orders_of(layout) == ("day_first", "month_first", "year_first")

    def test_an_order_that_the_cells_leave_open_is_asked(self) -> None:
        layout = with_time(a_layout(form=""), [["01/02/2026 10:00"], ["03/02/2026 10:00"]])
        assert layout.day_first is None
        assert "day_or_month" in [q.code for q in questions_left(layout)]

    @pytest.mark.parametrize(("form", "per_s"), [("epoch_s", 1), ("epoch_ms", 1000)])
    def test_posix_time(self, form: str, per_s: int) -> None:
        """POSIX: seconds since 1970-01-01T00:00:00 UTC, here as the standard library counts them."""
        utc = [moment.replace(tzinfo=UTC) for moment in self.MOMENTS]
        layout = with_time(a_layout(form=""), [[str(int(moment.timestamp()) * per_s)] for moment in utc])
        assert (layout.stamp_format, layout.basis) == (form, EPOCH)

    def test_with_an_offset_it_is_in_utc(self) -> None:
        rows = [[f"{moment:%Y-%m-%dT%H:%M:%S}+02:00"] for moment in self.MOMENTS]
        assert with_time(a_layout(form=""), rows).basis == IN_UTC

    @pytest.mark.parametrize("rows", [[], [[]], [["oops"], ["again"]], [["0.03"], ["0.04"]], [["\0" * 99]]])
    def test_no_time_at_all(self, rows: list[list[str]]) -> None:
        assert with_time(a_layout(), rows).stamp_format == ""

    def test_a_time_without_a_date_asks_for_the_date(self) -> None:
        layout = with_time(a_layout(), [["12:30:00"], ["12:40:00"]])
        assert [(q.code, q.answer_kind) for q in questions_left(layout) if q.code == "start"] == [("start", "date")]

    def test_two_whole_stamps_are_none(self) -> None:
        columns = (Column(0, "start", STAMP), Column(1, "end", STAMP))
        row = ["2026-03-07 10:00", "2026-03-07 11:00"]
        assert with_time(a_layout(*columns), [row, row]).stamp_format == ""


class TestCarryOver:
    SEEN = a_layout(encoding="utf-8")
    SETTLED = replace(answer(put(SEEN, 1, unit="mg/m³"), ORDER, "month_first"), name="hall meter")

    def test_the_same_file_again(self) -> None:
        assert carry_over(self.SEEN, self.SEEN, self.SETTLED) == self.SETTLED

    def test_nothing_is_left_to_ask(self) -> None:
        assert [q.code for q in questions_left(self.SEEN)] == ["day_or_month", "unit"]
        assert questions_left(carry_over(self.SEEN, self.SEEN, self.SETTLED)) == ()

    def test_what_the_file_itself_shows_stays(self) -> None:
        fresh = replace(self.SEEN, encoding="cp1252", container="gzip", header_line=9, first_data_line=10)
        carried = carry_over(fresh, self.SEEN, self.SETTLED)
        assert (carried.encoding, carried.container) == ("cp1252", "gzip")
        assert (carried.header_line, carried.first_data_line) == (9, 10)
        assert carried.columns == self.SETTLED.columns

    def test_a_first_line_that_was_moved_leaves_out_no_readings(self) -> None:
        seen = replace(self.SEEN, first_data_line=5)
        for moved, carried in ((2, 7), (8, 10)):  # lines above were added; readings were left out, of that file alone
            settled = replace(self.SETTLED, first_data_line=moved)
            assert carry_over(replace(seen, first_data_line=10), seen, settled).first_data_line == carried

    def test_an_order_that_the_file_proves_is_its_own(self) -> None:
        """01/02 was said to be the second of January; a file with a 31/02 … 31/12 is of another opinion."""
        fresh = replace(self.SEEN, day_first=True)
        carried = carry_over(fresh, self.SEEN, self.SETTLED)
        assert (carried.stamp_format, carried.day_first) == (SLASHED, True)

    def test_another_way_of_writing_dates_is_asked_about_again(self) -> None:
        """Points between the parts are another export: the order said about slashes does not hold for it."""
        fresh = replace(self.SEEN, stamp_format="%d.%m.%Y %H:%M")
        assert [q.code for q in questions_left(carry_over(fresh, self.SEEN, self.SETTLED))] == ["day_or_month"]

    def test_a_unit_that_the_file_names_is_its_own(self) -> None:
        """The unit stands in the cells, so it is not of the shape: a meter that was switched to ppb says so."""
        carried = carry_over(put(self.SEEN, 1, unit="ppb"), self.SEEN, self.SETTLED)
        assert carried.columns[1].unit == "ppb"

    @pytest.mark.parametrize(("doubted", "scale"), [({1}, 100.0), ({2}, 1.0)])
    def test_fractions_stay_fractions_where_this_file_has_them(self, doubted: set[int], scale: float) -> None:
        """An instrument that was switched to percent meanwhile shows it by its numbers."""
        seen = put(self.SEEN, 1, parameter="humidity", unit="%RH")
        carried = carry_over(seen, seen, put(seen, 1, scale=100.0, doubted=True), doubted=doubted)
        assert carried.columns[1].scale == scale

    def test_a_unit_that_was_corrected_stays_corrected(self) -> None:
        seen = put(self.SEEN, 1, unit="ppm")
        assert carry_over(seen, seen, self.SETTLED).columns[1].unit == "mg/m³"

    def test_a_unit_of_another_parameter_is_not_taken(self) -> None:
        seen = put(self.SEEN, 1, parameter="temperature", unit="°C")
        fresh = put(self.SEEN, 1, parameter="temperature", unit="°F")
        assert carry_over(fresh, seen, self.SETTLED).columns[1].unit == "mg/m³"

    def test_what_was_left_out_is_left_out(self) -> None:
        settled = put(self.SEEN, 1, role=IGNORE, parameter=None, unit=None)
        assert carry_over(put(self.SEEN, 1, unit="ppm"), self.SEEN, settled).columns[1].role is IGNORE

    def test_names_are_compared_as_the_shape_compares_them(self) -> None:
        fresh = put(self.SEEN, 1, name="  hcho ")
        assert fresh.shape_key() == self.SEEN.shape_key()
        assert carry_over(fresh, self.SEEN, self.SETTLED).columns[1].unit == "mg/m³"

    @pytest.mark.parametrize(
        ("fresh", "seen", "settled", "asked", "carried"),
        [
            ((",", ""), (",", ""), (".", ","), {"decimal"}, (".", ",")),  # 1,100 again, said to be thousands
            ((",", ""), (",", ""), (".", ","), set(), (",", "")),  # 0,031: this file shows that it is not
            ((",", ""), (".", ","), (".", ","), {"decimal"}, (".", ",")),  # 0.5 and 1,100 before, only 1,100 now
            ((".", ""), (".", ""), (",", "."), set(), (",", ".")),  # 1.234 taken for decimals, said to be thousands
            ((".", ""), (".", ","), (".", ","), set(), (".", ",")),  # no thousands reached this time
            ((".", ","), (".", ""), (".", ""), set(), (".", ",")),  # thousands reached for the first time
            ((".", ""), (",", "."), (",", "."), set(), (".", "")),  # another export of the same columns
        ],
    )
    def test_marks(
        self,
        fresh: tuple[str, str],
        seen: tuple[str, str],
        settled: tuple[str, str],
        asked: set[str],
        carried: tuple[str, str],
    ) -> None:
        def marked(layout: Layout, marks: tuple[str, str]) -> Layout:
            return replace(layout, decimal=marks[0], thousands=marks[1], shape="one")

        got = carry_over(marked(self.SEEN, fresh), marked(self.SEEN, seen), marked(self.SETTLED, settled), asked=asked)
        assert (got.decimal, got.thousands) == carried

    def test_days_since_1900_or_1904(self) -> None:
        """Z-14: the two systems lie 1 462 days apart, and no cell tells which."""
        seen = a_layout(form="serial_1900")
        assert carry_over(seen, seen, replace(seen, stamp_format="serial_1904")).stamp_format == "serial_1904"

    def test_a_new_kind_of_readings_in_a_long_file_is_asked_about(self) -> None:
        """Their names are data: the shape is that of the columns that every such file has."""
        head = (Column(0, "time", STAMP), Column(1, "gas", ColumnRole.PARAMETER))
        seen = a_layout(*head, Column(2, "HCHO", VALUE, "formaldehyde", None), form="%Y-%m-%d", shape="long")
        settled = put(seen, 2, unit="ppm")
        fresh = a_layout(*head, Column(2, "Zeta", VALUE), Column(2, "HCHO", VALUE, "formaldehyde"))
        fresh = replace(fresh, stamp_format="%Y-%m-%d", shape="long")
        carried = carry_over(fresh, seen, settled)
        assert [(c.name, c.unit) for c in carried.values] == [("Zeta", None), ("HCHO", "ppm")]
        assert [(q.code, q.column) for q in questions_left(carried)] == [("parameter", 2)]

    def test_another_shape(self) -> None:
        with pytest.raises(ValueError, match="not of the same shape"):
            carry_over(put(self.SEEN, 1, name="CO2"), self.SEEN, self.SETTLED)

    @given(st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d.%m.%y", "%Y-%m-%d", "epoch_s"]), st.booleans())
    def test_it_is_stable(self, form: str, day_first: bool) -> None:
        """Carried over once or twice, the same layout."""
        seen = a_layout(form=form)
        settled = replace(put(seen, 1, unit="ppb"), day_first=day_first if form[:2] in ("%d", "%m") else None)
        once = carry_over(seen, seen, settled)
        assert carry_over(seen, seen, once) == once
