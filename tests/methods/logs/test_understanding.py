"""What sniffing makes of a file: where the data begin, what each column is, and what it has to ask."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from methods.logs import ColumnRole, Layout, Understanding, understand
from methods.logs.words.serial_numbers import find_serials
from tests.methods.logs.logs import clock, ms_of, read_all, write


def sniff(tmp_path: Path, text: str, encoding: str = "utf-8") -> Understanding:
    return understand(write(tmp_path / "log", text, encoding), name="log")


def layout_of(tmp_path: Path, text: str, encoding: str = "utf-8") -> Layout:
    found = sniff(tmp_path, text, encoding)
    assert found.layout is not None, found.problems
    return found.layout


def roles(layout: Layout) -> list[str]:
    return [column.role.value for column in layout.columns]


def rows(form: str, count: int = 8) -> str:
    return "".join(form.format(i=i) for i in range(count))


# --- where things stand -----------------------------------------------------------------------------------------------


def test_preamble_header_and_units_row(tmp_path: Path) -> None:
    text = (
        "Logger memory\nSeriennummer;A-12345\nStart;13.02.2024 18:00\n\nDatum;Zeit;HCHO;CO2;T\n;hh:mm;mg/m3;ppm;°C\n"
        + rows("13.02.2024;18:0{i};0,0{i};40{i};21,{i}\n")
    )
    found = sniff(tmp_path, text, "cp1252")
    layout = found.layout
    assert layout is not None
    assert (layout.header_line, layout.units_line, layout.first_data_line) == (5, 6, 7)
    assert (layout.encoding, layout.delimiter, layout.decimal) == ("cp1252", ";", ",")
    assert [c.unit for c in layout.values] == ["mg/m³", "ppm", "°C"]
    assert [c.name for c in layout.values] == ["HCHO [mg/m3]", "CO2 [ppm]", "T [°C]"]
    assert roles(layout) == ["date", "time", "value", "value", "value"]
    assert (layout.stamp_format, layout.day_first, layout.basis) == ("%d.%m.%Y %H:%M", True, "local")
    assert found.serials == ("A-12345",)
    assert found.preview[1] == ("Seriennummer", "A-12345")
    assert found.questions == ()
    assert found.confidence > 0.9


@pytest.mark.parametrize(
    ("line", "serials"),
    [
        ("Serial number: 4711-A", ("4711-A",)),
        ("S/N 0815", ("0815",)),
        ("Device ID = HX77,Firmware,2.1", ("HX77",)),
        ("N° de série : 99X1", ("99X1",)),
        ("series of measurements 12", ()),
        ("Serial number: unknown", ()),
    ],
)
def test_serial_numbers(tmp_path: Path, line: str, serials: tuple[str, ...]) -> None:
    assert sniff(tmp_path, f"{line}\nTime,CO2 (ppm)\n" + rows("2024-02-13 18:0{i},40{i}\n")).serials == serials


def test_serial_numbers_in_a_column(tmp_path: Path) -> None:
    found = sniff(tmp_path, "Time,Serial no.,CO2 (ppm)\n" + rows("2024-02-13 18:0{i},AB-7,40{i}\n"))
    assert found.serials == ("AB-7",)
    assert found.layout is not None
    assert roles(found.layout) == ["stamp", "ignore", "value"]


def test_a_header_of_two_lines(tmp_path: Path) -> None:
    text = ",Inside,,Outdoor,\nTime,CO2 (ppm),Temp (°C),CO2 (ppm),Temp (°C)\n" + rows(
        "2024-02-13 18:0{i},40{i},21,39{i},5\n"
    )
    found = sniff(tmp_path, text)
    assert found.layout is not None
    assert [c.name for c in found.layout.values][2] == "Outdoor CO2 (ppm)"
    assert [(q.code, [words for _, words in q.choices]) for q in found.questions] == [
        ("same_parameter", ["Inside CO2 (ppm): 400, 401, 402", "Outdoor CO2 (ppm): 390, 391, 392", "none of these"]),
        ("same_parameter", ["Inside Temp (°C): 21", "Outdoor Temp (°C): 5", "none of these"]),
    ]


def test_names_that_go_on_in_the_second_line(tmp_path: Path) -> None:
    layout = layout_of(
        tmp_path, "Time,Carbon,Air\n,dioxide ppm,temperature °C\n" + rows("2024-02-13 18:0{i},40{i},21\n")
    )
    assert [(c.parameter, c.unit) for c in layout.values] == [("co2", "ppm"), ("temperature", "°C")]


def test_a_row_number_without_a_name(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, "time,co2 ppm\n" + rows("{i},2024-02-13 18:0{i},40{i}\n"))
    assert roles(layout) == ["ignore", "stamp", "value"]
    assert layout.values[0].parameter == "co2"


def test_a_trailing_delimiter_and_empty_rows(tmp_path: Path) -> None:
    text = "Time;CO2 (ppm)\n" + rows("2024-02-13 18:0{i};40{i};\n") + ";;\n\n;;\n"
    path = write(tmp_path / "log", text)
    layout = layout_of(tmp_path, text)
    assert roles(layout) == ["stamp", "value", "ignore"]
    whole = read_all(path, layout)
    assert (len(whole.lines), whole.problems) == (8, [])


@pytest.mark.parametrize(
    "foot", ["Average;404;\nMaximum;408;\n", "\nMittelwert;404;\n", "-----;---;\nEnd of data\n", "\x1a"]
)
def test_footers_and_repeated_headers_are_no_data(tmp_path: Path, foot: str) -> None:
    data = rows("2024-02-13 18:0{i};40{i};\n")
    text = "Time;CO2 (ppm);\n" + data + "Time;CO2 (ppm);\n" + data.replace("18:", "19:") + foot
    path = write(tmp_path / "log", text)
    whole = read_all(path, layout_of(tmp_path, text))
    assert (len(whole.lines), whole.problems) == (16, [])


def test_a_header_cut_with_another_delimiter(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, "Time,HCHO (ppm),CO2 (ppm)\n" + rows("2024-02-13 18:0{i}:00;0.0{i};40{i}\n"))
    assert [(c.parameter, c.unit) for c in layout.values] == [("formaldehyde", "ppm"), ("co2", "ppm")]


def test_a_damaged_first_line_of_data(tmp_path: Path) -> None:
    text = "Time;CO2 ppm\nlala;400\n" + rows("2024-02-13 18:0{i}:00;40{i}\n")
    found = sniff(tmp_path, text)
    assert found.layout is not None
    assert (found.layout.header_line, found.layout.first_data_line) == (1, 2)
    assert [(p.line, p.value, p.code) for p in found.problems] == [(2, "lala", "bad_stamp")]


def test_a_file_without_names(tmp_path: Path) -> None:
    found = sniff(tmp_path, rows("2024-02-13 18:0{i};0.0{i};21.{i}\n"))
    assert found.layout is not None
    assert (found.layout.header_line, found.layout.first_data_line) == (0, 1)
    assert [(q.code, q.column) for q in found.questions] == [("parameter", 1), ("parameter", 2)]
    assert ("formaldehyde", "Formaldehyde (HCHO)") in found.questions[0].choices
    assert found.questions[0].choices[-1][0] == "ignore"


def test_first_lines_without_values_are_data_too(tmp_path: Path) -> None:
    text = "Start;2024-02-13 18:00\n2024-02-13 17:58;\n2024-02-13 17:59;\n" + rows("2024-02-13 18:0{i};40{i}\n")
    layout = layout_of(tmp_path, text)
    assert (layout.header_line, layout.first_data_line) == (0, 2)
    assert read_all(tmp_path / "log", layout).lines == list(range(2, 12))


def test_a_time_under_the_letter_of_a_temperature(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, "t,CO2 (ppm)\n" + rows("2024-02-13 18:0{i},40{i}\n"))
    assert roles(layout) == ["stamp", "value"]


def test_values_that_could_be_times_are_numbers(tmp_path: Path) -> None:
    text = "Time,HCHO (ppb)\n" + "".join(
        f"202402131{i}0000,{v}\n" for i, v in enumerate(["450", "7.5", "18.05", "22.31", "9.10"])
    )
    layout = layout_of(tmp_path, text)
    assert (layout.stamp_format, layout.first_data_line) == ("%Y%m%d%H%M%S", 2)
    assert read_all(tmp_path / "log", layout).values[:, 0].tolist() == [450, 7.5, 18.05, 22.31, 9.1]


def test_means_are_taken_and_their_spread_is_left(tmp_path: Path) -> None:
    text = "Time;CO2 avg (ppm);CO2 min (ppm);CO2 max (ppm);Battery (V)\n" + rows(
        "2024-02-13 18:0{i};40{i};390;420;3.3\n"
    )
    layout = layout_of(tmp_path, text)
    assert roles(layout) == ["stamp", "value", "ignore", "ignore", "ignore"]


# --- time -------------------------------------------------------------------------------------------------------------


def test_ambiguous_dates_are_asked_for_and_both_readings_shown(tmp_path: Path) -> None:
    found = sniff(tmp_path, "Date,Time,HCHO ppb\n" + "".join(f"2/{d}/2024,6:00 PM,{d}\n" for d in range(1, 9)))
    assert found.layout is not None
    assert found.layout.day_first is None
    question = found.questions[0]
    assert question.code == "day_or_month"
    assert dict(question.choices) == {
        "day_first": "the day: the file then runs from 2024-01-02 18:00:00 to 2024-08-02 18:00:00",
        "month_first": "the month: the file then runs from 2024-02-01 18:00:00 to 2024-02-08 18:00:00",
    }


@pytest.mark.parametrize(("date", "day_first"), [("13/02/2024", True), ("02/13/2024", False)])
def test_one_telling_date_far_down_decides(tmp_path: Path, date: str, day_first: bool) -> None:
    text = "Time,CO2 ppm\n" + "".join(f"0{1 + i % 9}/02/2024 {i // 60 % 24:02}:{i % 60:02},400\n" for i in range(5000))
    layout = layout_of(tmp_path, text + f"{date} 10:00,400\n")
    assert layout.day_first is day_first


def test_a_two_digit_year_in_front_is_asked_for(tmp_path: Path) -> None:
    found = sniff(tmp_path, "Time;CO2 ppm\n" + rows("24-02-1{i} 18:00;40{i}\n"))
    assert [value for value, _ in found.questions[0].choices] == ["day_first", "year_first"]


@pytest.mark.parametrize(
    ("line", "form", "basis", "moment"),
    [
        ("1707847{i}00,40{i}", "epoch_s", "epoch", clock(2024, 2, 13, 17, 56, 40)),
        ("1707847{i}00500,40{i}", "epoch_ms", "epoch", clock(2024, 2, 13, 17, 56, 40, 500_000)),
        ("2024-02-13T18:0{i}:00+01:00,40{i}", "%Y-%m-%dT%H:%M:%S%z", "utc", clock(2024, 2, 13, 17)),
        ("2024-02-13T18:0{i}:00Z,40{i}", "%Y-%m-%dT%H:%M:%S%z", "utc", clock(2024, 2, 13, 18)),
        ("2024-02-13 18:0{i},40{i}", "%Y-%m-%d %H:%M", "local", clock(2024, 2, 13, 18)),
        ("18:0{i} 2024-02-13,40{i}", "%H:%M %Y-%m-%d", "local", clock(2024, 2, 13, 18)),
        ("Tue 2024-02-13 18:0{i},40{i}", "%a %Y-%m-%d %H:%M", "local", clock(2024, 2, 13, 18)),
        ("6:0{i} PM 13/02/2024,40{i}", "%I:%M %p %d/%m/%Y", "local", clock(2024, 2, 13, 18)),
    ],
)
def test_what_the_stamps_count_from(tmp_path: Path, line: str, form: str, basis: str, moment: dt.datetime) -> None:
    text = "time,CO2 (ppm)\n" + rows(line + "\n")
    layout = layout_of(tmp_path, text)
    assert (layout.stamp_format, layout.basis) == (form, basis)
    assert read_all(tmp_path / "log", layout).stamps[0] == ms_of(moment)


def test_day_numbers_in_text_are_asked_for(tmp_path: Path) -> None:
    """Z-14, and text does not say which of the two systems it counts by."""
    found = sniff(tmp_path, "Date,CO2 ppm\n" + "".join(f"{45382 + i / 24:.10f},40{i}\n" for i in range(8)))
    assert [q.code for q in found.questions] == ["serial_epoch"]
    assert dict(found.questions[0].choices) == {
        "serial_1900": "days since 1900: the first reading is of 2024-03-31 00:00:00",
        "serial_1904": "days since 1904: the first reading is of 2028-04-01 00:00:00",
    }


@pytest.mark.parametrize(
    ("handed_in", "form"),
    [(dt.date(2024, 3, 31), "serial_1900"), (dt.date(2028, 3, 29), "serial_1900"), (dt.date(2028, 3, 31), "asked"),
     (dt.date(2024, 3, 1), "asked"), (None, "asked")],
)  # fmt: skip
def test_day_numbers_of_the_future_are_none(tmp_path: Path, handed_in: dt.date | None, form: str) -> None:
    """Z-14: 45382 is 2024-03-31 or 2028-04-01; a file that lies behind its day either way is asked about."""
    path = write(tmp_path / "log", "Date,CO2 ppm\n" + "".join(f"{45382 + i / 24:.10f},40{i}\n" for i in range(8)))
    found = understand(path, name="log", handed_in=handed_in)
    assert found.layout is not None
    assert [q.code for q in found.questions] == (["serial_epoch"] if form == "asked" else [])
    assert form in (found.layout.stamp_format, "asked")


def test_times_without_dates(tmp_path: Path) -> None:
    found = sniff(tmp_path, "Time;CO2 ppm\n" + rows("18:0{i}:00;40{i}\n"))
    assert [(q.code, q.answer_kind) for q in found.questions] == [("start", "date")]
    assert "times of day without a date" in found.questions[0].message


def test_two_columns_of_dates_and_times_are_asked_for(tmp_path: Path) -> None:
    text = "utc time,local time,CO2 (ppm)\n" + rows("2024-02-13 17:0{i},2024-02-13 18:0{i},40{i}\n")
    question = sniff(tmp_path, text).questions[0]
    assert question.code == "stamp_column"
    assert [words for _, words in question.choices] == [
        "utc time: 2024-02-13 17:00", "local time: 2024-02-13 18:00", "none of these",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("header", "line"),
    [
        ("Date,Time,AM/PM,HCHO ppm", "2/13/2024,6:0{i},PM,0.0{i}"),
        ("Date Time HCHO CO2\n- - ppm ppm", "2/13/2024 6:0{i} PM 0.0{i} 400"),
        ("Date/Time  HCHO_ppm", "13 Feb 2024 18:0{i}   0.0{i}"),
        ("Date;Time;HCHO ppm", "13/02/2024 00:00:00;18:0{i}:00;0,0{i}"),
        ("Datum;Uhrzeit;HCHO ppm", "13.02.2024;18.0{i}.00;0,0{i}"),
    ],
)
def test_a_stamp_in_several_cells(tmp_path: Path, header: str, line: str) -> None:
    text = header + "\n" + rows(line + "\n")
    layout = layout_of(tmp_path, text)
    whole = read_all(tmp_path / "log", layout)
    assert whole.stamps[5] == ms_of(clock(2024, 2, 13, 18, 5))
    assert whole.values[5, 0] == 0.05
    assert layout.values[0].parameter == "formaldehyde"


# --- values -----------------------------------------------------------------------------------------------------------


def test_a_missing_unit_is_asked_for(tmp_path: Path) -> None:
    found = sniff(tmp_path, "Time,HCHO,RH\n" + rows("2024-02-13 18:0{i},0.0{i},45\n"))
    assert [(q.code, q.column, [value for value, _ in q.choices]) for q in found.questions] == [
        ("unit", 1, ["ppm", "ppb", "mg/m³", "µg/m³", "ignore"])
    ]
    assert "It holds 0.00, 0.01, 0.02" in found.questions[0].message


def test_a_unit_that_does_not_belong_to_the_parameter_is_asked_for(tmp_path: Path) -> None:
    found = sniff(tmp_path, "Time,Temp (ppm)\n" + rows("2024-02-13 18:0{i},21\n"))
    assert [(q.code, q.column) for q in found.questions] == [("unit", 1)]


def test_units_in_the_cells(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, "Time,formaldehyde,temp\n" + rows("2024-02-13 18:0{i},0.0{i} ppm,21.{i} °C\n"))
    assert [c.unit for c in layout.values] == ["ppm", "°C"]
    assert read_all(tmp_path / "log", layout).values[3].tolist() == [0.03, 21.3]


def test_units_in_a_column(tmp_path: Path) -> None:
    text = "Time,HCHO,unit\n" + rows("2024-02-13 18:0{i},0.0{i},ppm\n") + "2024-02-13 19:00,30,ppb\n"
    layout = layout_of(tmp_path, text)
    assert [(c.name, c.parameter, c.unit) for c in layout.values] == [
        ("HCHO [ppm]", "formaldehyde", "ppm"),
        ("HCHO [ppb]", "formaldehyde", "ppb"),
    ]


def test_a_long_file_far_down_which_another_parameter_begins(tmp_path: Path) -> None:
    one = "".join(f"2024-02-13 {i // 60:02}:{i % 60:02},HCHO,0.01,ppm\n" for i in range(1200))
    found = sniff(
        tmp_path, "Time,Parameter,Value,Unit\n" + one + "2024-02-13 21:00,Temp,21,°C\n2024-02-13 21:00,Stuff,1,x\n"
    )
    assert found.layout is not None
    assert [(c.name, c.role, c.parameter, c.unit) for c in found.layout.columns if c.index == 2] == [
        ("HCHO [ppm]", ColumnRole.VALUE, "formaldehyde", "ppm"),
        ("Temp [°C]", ColumnRole.VALUE, "temperature", "°C"),
        ("Stuff [x]", ColumnRole.VALUE, None, None),
    ]
    assert [(q.code, q.column) for q in found.questions] == [("parameter", 4)]


def test_an_ambiguous_comma_is_asked_for(tmp_path: Path) -> None:
    question = sniff(tmp_path, "Time;CO2 (ppm)\n" + rows("2024-02-13 18:0{i};1,{i}00\n")).questions[0]
    assert question.code == "decimal"
    assert dict(question.choices) == {",": "decimals: 1.000", ".": "thousands: 1000"}


def test_a_decimal_comma_that_shows_only_far_down(tmp_path: Path) -> None:
    text = "Time;CO2 (ppm)\n" + "".join(f"2024-02-13 {i // 60:02}:{i % 60:02};40{i % 9}\n" for i in range(1200))
    layout = layout_of(tmp_path, text + "2024-02-13 21:00;400,5\n")
    assert layout.decimal == ","
    assert read_all(tmp_path / "log", layout).values[-1, 0] == 400.5


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(tmp_path: Path, encoding: str, line_end: str) -> None:
    text = ("Zeit;Temp (°C);Größe\n" + rows("2024-02-13 18:0{i};21,{i};ä\n")).replace("\n", line_end)
    layout = layout_of(tmp_path, text, encoding)
    assert layout.encoding == {"utf-8-sig": "utf-8", "utf-16": "utf-16-le"}.get(encoding, encoding)
    assert layout.columns[2].name == "Größe"
    whole = read_all(tmp_path / "log", layout)
    assert whole.lines == list(range(2, 10))
    assert whole.values[:, 0].tolist() == [float(f"21.{i}") for i in range(8)]


@pytest.mark.parametrize(
    "line",
    [
        "Serial: AB-12", "Serial number,AB-12", "S/N: AB-12", "SN AB-12", "SerialNo=AB-12", "Serial#AB-12",
        "Ser. No: AB-12", "Seriennummer;AB-12", "Serien-Nr. AB-12", "N° de série : AB-12", "Número de serie: AB-12",
        "N. di serie: AB-12",
        "Matricola: AB-12", "Nr seryjny: AB-12", "Serienummer: AB-12", "Sarjanumero: AB-12", "シリアル番号: AB-12",
        "序列号: AB-12", "Device ID: AB-12", "Sensor ID;AB-12", '"Serial Number","AB-12"', "Model 100 (S/N AB-12)",
    ],
)  # fmt: skip
def test_a_serial_number_in_any_usual_spelling(line: str) -> None:
    """Labels from memory."""
    assert "AB-12" in find_serials([line])


@pytest.mark.parametrize(
    "line", ["Time series", "Interval; 60 s", "Memory of a meter", "Series begun by the caretaker"]
)
def test_what_is_no_serial_number(line: str) -> None:
    assert find_serials([line]) == ()
