"""Words that mean one thing under one name and the other under another; counts of seconds under any name."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs.layouts.layout_answers import answer, questions_left
from methods.logs.layouts.layout_corrections import carry_over
from tests.methods.logs.logs import read_all
from tests.methods.logs.test_understanding import layout_of, sniff


@pytest.mark.parametrize("name", ["Error", "Fault", "Alarm", "Valid"])
def test_true_and_false_are_asked_about(tmp_path: Path, name: str) -> None:
    rows = "".join(f"2026-09-15 08:0{k}:00;60{k};{'true' if k == 3 else 'false'}\n" for k in range(9))
    assert [q.code for q in sniff(tmp_path, f"Time;CO2 (ppm);{name}\n{rows}").questions] == ["status"]


@pytest.mark.parametrize("head", ["Messzeitpunkt;CO2 (ppm)\n", "Marca;CO2 (ppm)\n", "Time;CO2 (ppm)\n"])
def test_seconds_since_1970(tmp_path: Path, head: str) -> None:
    layout = layout_of(tmp_path, head + "".join(f"{1788822300 + 60 * k};60{k}\n" for k in range(9)))
    assert read_all(tmp_path / "log", layout).stamps[:2] == [1788822300000, 1788822360000]


def test_without_a_header_they_are_asked_about_and_nothing_breaks(tmp_path: Path) -> None:
    found = sniff(tmp_path, "".join(f"{1788822300 + 60 * k};60{k}\n" for k in range(9)))
    assert found.layout is not None
    assert "parameter" in {question.code for question in found.questions}


@pytest.mark.parametrize("text", ["ND", "<"])
def test_states_that_come_with_a_later_file(tmp_path: Path, text: str) -> None:
    head, rows = "Time;CO2 (ppm);Q\n", "".join(f"2026-09-15 08:0{k}:00;60{k};\n" for k in range(9))
    before = layout_of(tmp_path, head + rows)
    fresh = sniff(tmp_path, head + rows[:-1] + f"{text}\n").layout
    assert fresh is not None
    carried = carry_over(fresh, before, before)
    assert [carried.columns[2], len(questions_left(carried))] == [fresh.columns[2], text == "ND"]


@pytest.mark.parametrize(("head", "code"), [("Qualifier", "status"), ("Device", "sources")])
@pytest.mark.parametrize(("later", "asks"), [("BBBB", True), ("CCCC", True), ("AAAA", False), ("ABAB", False)])
def test_what_was_said_of_lines_holds_for_a_file_whose_lines_are_all_of_one_kind(
    tmp_path: Path, head: str, code: str, later: str, asks: bool
) -> None:
    names = f"Time;CO2 (ppm);{head}\n"
    before, after = (
        sniff(tmp_path, names + "".join(f"2026-09-1{day} 08:0{k}:00;60{k};{text}\n" for k, text in enumerate(texts)))
        for day, texts in enumerate(("AABAAB", later))
    )
    assert before.layout is not None
    assert after.layout is not None
    (question,) = before.questions
    carried = carry_over(after.layout, before.layout, answer(before.layout, question, "0"))
    left = questions_left(carried)
    assert [again.code for again in left] == [code] * asks
    if asks and code == "status":
        assert read_all(tmp_path / "log", answer(carried, left[0], "none")).flags.all()


@pytest.mark.parametrize(
    ("stamp", "seconds"),
    [("午前9:05", 32700), ("午後11:05", 83100), ("上午9:05:07", 32707), ("オ前9:05", None), ("오후1:05", 47100)],
)
def test_a_word_before_hours_of_one_digit(tmp_path: Path, stamp: str, seconds: int | None) -> None:
    for parted in (" ", ";"):
        head = "Date;Time;CO2 (ppm)" if parted == ";" else "Time;CO2 (ppm)"
        found = sniff(tmp_path, f"{head}\n" + "".join(f"2026/09/{day}{parted}{stamp};600\n" for day in range(14, 20)))
        assert found.layout is not None
        assert bool(found.questions) == (seconds is None)
        if seconds is not None:
            assert read_all(tmp_path / "log", found.layout).stamps[0] % 86_400_000 == seconds * 1000


@pytest.mark.parametrize("name", ["Hour", "Heure", "Hora", "Stunde"])
@pytest.mark.parametrize("decimals", ["00 10 20", "00 25 50", "0 5 0"])
def test_hours_with_decimals_are_asked_about(tmp_path: Path, name: str, decimals: str) -> None:
    rows = [f"2026-09-15;{9 + k // 3}.{decimals.split()[k % 3]};60{k}" for k in range(9)]
    found = sniff(tmp_path, f"Date;{name};CO2 (ppm)\n" + "\n".join(rows) + "\n")
    assert found.layout is not None
    asked = [question.code for question in found.questions]
    assert asked == ["clock_column"] or not read_all(tmp_path / "log", found.layout).problems


@pytest.mark.parametrize(
    "name",
    [
        "Durum",
        "Stav",
        "Stan",
        "Tila",
        "Állapot",
        "Κατάσταση",
        "상태",
        "Стан",
        "Flg",
        "ok?",
        "備考",
        "备注",
        "비고",
        "Uwagi",
    ],
)
@pytest.mark.parametrize("texts", [("A", "B"), ("", "x")])
def test_names_of_states_and_remarks_in_more_languages(tmp_path: Path, name: str, texts: tuple[str, str]) -> None:
    rows = "".join(f"2026-09-15 08:0{k}:00;60{k};{texts[k % 3 == 1]}\n" for k in range(9))
    assert [q.code for q in sniff(tmp_path, f"Time;CO2 (ppm);{name}\n{rows}").questions] == ["status"]


@pytest.mark.parametrize(
    ("head", "others", "asks"),
    [
        ("Temperature (°F)", (70.1, 70.4, 71.0), True),
        ("Temperature (°C)", (21.5, 21.7, 22.0), True),
        ("Temperature (°C)", (3.5, 2.7, 1.0), False),
        ("NO2 (ppb)", (8.4, 9.1, 14.0), True),
        ("NO2 (ppb)", (0.4, 9.1, 14.0), False),
        ("Radon (Bq/m3)", (), True),
        ("PM2.5 (µg/m3)", (11.2,), True),
    ],
)
def test_minus_one_among_values_far_from_it(tmp_path: Path, head: str, others: tuple[float, ...], asks: bool) -> None:
    cells = [*others, -1, -1] * 3
    rows = "".join(f"2026-09-15 08:{k:02}:00;{cell}\n" for k, cell in enumerate(cells))
    assert ("fill" in [q.code for q in sniff(tmp_path, f"Time;{head}\n{rows}").questions]) == asks


@pytest.mark.parametrize("form", ["S{} status", "status {}", "{} status"])
def test_a_state_behind_each_value_speaks_of_that_value_though_the_other_is_always_good(
    tmp_path: Path, form: str
) -> None:
    names = ";".join(f"S{n} {gas};{form.format(n)}" for n, gas in ((1, "CO2 (ppm)"), (2, "NO2 (ppb)")))
    rows = "".join(f"2026-09-15 08:0{k}:00;60{k};{'fault' if k % 3 else 'ok'};{10 + k};ok\n" for k in range(9))
    layout = layout_of(tmp_path, f"Time;{names}\n{rows}")
    assert [[bool(flag) for flag in flags] for flags in read_all(tmp_path / "log", layout).flags] == [
        [bool(k % 3), False] for k in range(9)
    ]


@pytest.mark.parametrize(
    ("texts", "codes"),
    [
        (("room 1", "room 2"), ["sources"]),
        (("Device A", "Device B"), ["sources"]),
        (("A1", "A2", "B1"), ["sources"]),
        (("ppm",), []),
        (("up", "down"), []),
        (("room 1",), []),
        (("", "E1"), ["status"]),
        (tuple(f"room {n}" for n in range(1, 9)), ["sources"]),
    ],
)
@pytest.mark.parametrize("rows", [12, 1200])
def test_a_column_without_a_name_that_names_devices(
    tmp_path: Path, texts: tuple[str, ...], codes: list[str], rows: int
) -> None:
    stamps = [f"2026-09-{15 + k // 1440}T{k // 60 % 24:02}:{k % 60:02}:00" for k in range(rows)]
    lines = "".join(f"{texts[k % len(texts)]},{stamp},6{k % 90:02}\n" for k, stamp in enumerate(stamps))
    found = sniff(tmp_path, f",time,CO2 (ppm)\n{lines}")
    assert [question.code for question in found.questions] == codes
    assert all("Column 1" in question.message for question in found.questions)


@pytest.mark.parametrize("head", ["Qualifier", "Xyz", "Status", "Remark"])
@pytest.mark.parametrize(("later", "asks"), [("", True), ("U", True), ("V", False)])
def test_only_one_text_was_to_count_and_the_next_file_has_another_or_none(
    tmp_path: Path, head: str, later: str, asks: bool
) -> None:
    def written(texts: str) -> str:
        cells = [texts[k % len(texts)] if texts else "" for k in range(9)]
        return f"Time;CO2 (ppm);{head}\n" + "".join(f"2026-09-15 08:0{k}:00;60{k};{x}\n" for k, x in enumerate(cells))

    before = sniff(tmp_path, written("VVU"))
    after = sniff(tmp_path, written(later)).layout
    assert before.layout is not None
    assert after is not None
    (question,) = before.questions
    said = answer(before.layout, question, next(key for key, words in question.choices if words.endswith("“V”")))
    assert [again.code for again in questions_left(carry_over(after, before.layout, said))] == ["status"] * asks


@pytest.mark.parametrize("name", ["Phase", "Sample", "Ventil", "Mode", "Status"])
@pytest.mark.parametrize(
    "texts",
    [
        "mess spül",
        "measure flush purge",
        "M Z",
        "sample zero span cal",
        "room blank",
        "S Z C",
        "Messung Nullgas",
        "run purge",
        "zero",
    ],
)
def test_steps_in_which_an_instrument_measures_no_air_of_the_room(tmp_path: Path, name: str, texts: str) -> None:
    steps = texts.split()
    rows = "".join(f"2026-09-15 08:0{k}:00;60{k};{steps[k % len(steps)]}\n" for k in range(9))
    assert [q.code for q in sniff(tmp_path, f"Time;CO2 (ppm);{name}\n{rows}").questions] == ["status"]
