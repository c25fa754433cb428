"""JSON documents that hold a list of objects: as JSON lines, whatever stands around the list; refused with the reason
otherwise. Against the standard library's own reading of the whole document."""

from __future__ import annotations

import datetime as dt
import gzip
import json
import tracemalloc
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import understand
from methods.logs.files.json_document import JsonRecords, is_document
from tests.examples import examples
from tests.methods.logs.logs import Whole, clock, ms_of, read_all
from tests.methods.logs.test_containers import refused
from tests.methods.logs.test_hostile import go_through

ROWS: list[dict[str, Any]] = [
    {"time": f"2026-09-15T08:0{n}:00", "co2_ppm": 400 + n, "hcho_ppm": 0.031} for n in range(9)
]
NESTED = [{"time": row["time"], "values": {"co2_ppm": row["co2_ppm"], "hcho_ppm": 0.031}} for row in ROWS]


def whole(tmp_path: Path, content: bytes | str) -> Whole:
    path = tmp_path / "upload"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    found = understand(path, name="upload")
    assert found.layout is not None, found.problems
    assert found.questions == ()
    return read_all(path, found.layout)


DOCUMENTS = {
    "a list on one line": json.dumps(ROWS),
    "a list on many lines": json.dumps(ROWS, indent=2),
    "under a key": json.dumps({"readings": ROWS}),
    "under a key, many lines": json.dumps({"version": 3, "readings": ROWS, "count": 9}, indent=4),
    "under a key of a key": json.dumps({"ok": True, "data": {"unit": "?", "rows": ROWS}, "next": None}),
    "nested values": json.dumps({"readings": NESTED}, indent=1),
    "objects one after another": "\n".join(json.dumps(row, indent=1) for row in ROWS),
    "blanks all over": " \n\t" + json.dumps(ROWS).replace(",", " ,\r\n ").replace("[", "[ \n\n") + "\n\n",
    "lines": "\n".join(json.dumps(row) for row in ROWS),
    "under times": json.dumps({row["time"]: {key: row[key] for key in ("co2_ppm", "hcho_ppm")} for row in ROWS}),
}


@pytest.mark.parametrize("name", DOCUMENTS)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_one_list_of_objects(tmp_path: Path, name: str, encoding: str) -> None:
    found = whole(tmp_path, DOCUMENTS[name].encode(encoding))
    assert found.values.tolist() == [[400.0 + n, 0.031] for n in range(9)]
    assert (found.lines, found.problems) == (list(range(1, 10)), [])
    assert found.stamps[1] == ms_of(clock(2026, 9, 15, 8, 1))


def test_packed(tmp_path: Path) -> None:
    assert len(whole(tmp_path, gzip.compress(DOCUMENTS["under a key"].encode())).lines) == 9


def test_names_of_nested_values(tmp_path: Path) -> None:
    path = tmp_path / "upload"
    path.write_text(DOCUMENTS["nested values"])
    layout = understand(path, name="upload").layout
    assert layout is not None
    assert [column.name for column in layout.columns] == ["time", "values.co2_ppm", "values.hcho_ppm"]


def test_the_serial_number_and_the_zone_are_said_once(tmp_path: Path) -> None:
    path = tmp_path / "upload"
    path.write_text(json.dumps({"device": {"serial": "FL-7001"}, "timezone": "UTC+02:00", "offset": 1.5, "rows": ROWS}))
    found = understand(path, name="upload")
    assert found.layout is not None
    assert (found.serials, found.questions) == (("FL-7001",), ())
    assert read_all(path, found.layout).stamps[0] == ms_of(clock(2026, 9, 15, 6, 0))
    assert [c.parameter for c in found.layout.values] == ["co2", "formaldehyde"]


def test_what_is_wrong_with_a_record_is_named_at_its_place(tmp_path: Path) -> None:
    texts = [json.dumps(row) for row in ROWS] + [json.dumps(ROWS[-1])] * 6
    texts[3], texts[5] = texts[3].replace("403", "low"), texts[5].replace("405", '"high"')
    texts[7] = "null"
    found = whole(tmp_path, f"[{','.join(texts)}]")
    told = [(line, code) for line, _, _, code in found.problems if code != "duplicate_rows"]
    assert told == [(4, "bad_line"), (6, "text_in_number"), (8, "bad_line")]  # fmt: skip
    assert len(found.lines) == 13


TIMED = {row["time"]: {key: row[key] for key in ("co2_ppm", "hcho_ppm")} for row in ROWS}


@pytest.mark.parametrize("indent", [None, 1])
@pytest.mark.parametrize("count", [9, 1500])
@pytest.mark.parametrize("head", [{}, {"serial": "FL-7001", "timezone": "UTC+02:00"}])
@pytest.mark.parametrize("under", ["", "data"])
def test_objects_under_their_times(tmp_path: Path, indent: int | None, count: int, head: Any, under: str) -> None:
    start = clock(2026, 9, 15, 8, 0)
    moments = [start + n * dt.timedelta(minutes=1) for n in range(count)]
    timed = {moment.isoformat(): {"co2_ppm": 400 + n, "hcho_ppm": 0.031} for n, moment in enumerate(moments)}
    found = whole(tmp_path, json.dumps({**head, **({under: timed} if under else timed)}, indent=indent))
    assert found.values.tolist() == [[400.0 + n, 0.031] for n in range(count)]
    assert found.stamps[:2] == [ms_of(moment) - 7_200_000 * bool(head) for moment in moments[:2]]
    assert found.problems == []


@pytest.mark.parametrize("key", ["2026-09-15 08:{:02}", "15.09.2026 08:{:02}:00", "17888223{:02}"])
@pytest.mark.parametrize("named", [True, False])
def test_one_number_for_each_time(tmp_path: Path, key: str, named: bool) -> None:
    timed = {key.format(n): 400 + n for n in range(30)}
    path = tmp_path / "upload"
    path.write_text(json.dumps({"co2_ppm": timed} if named else timed))
    found = understand(path, name="upload")
    assert found.layout is not None
    assert [question.code for question in found.questions] == ["parameter"] * (not named)
    if named:
        assert read_all(path, found.layout).values.tolist() == [[400.0 + n] for n in range(30)]


@pytest.mark.parametrize("indent", [None, 1])
def test_a_list_of_times_with_what_stands_under_each(tmp_path: Path, indent: int | None) -> None:
    found = whole(tmp_path, json.dumps([{time: row} for time, row in TIMED.items()], indent=indent))
    assert (found.values.tolist(), found.problems) == ([[400.0 + n, 0.031] for n in range(9)], [])


@pytest.mark.parametrize("cut", [1, 2, 4, 5])
def test_times_that_are_cut_off(tmp_path: Path, cut: int) -> None:
    text = json.dumps({"co2_ppm": {row["time"]: row["co2_ppm"] for row in ROWS}})
    found = whole(tmp_path, text[:-cut])
    assert found.values.tolist() == [[400.0 + n] for n in range(9 if cut == 1 else 8)]
    assert "truncated_file" in {code for *_, code in found.problems}


@pytest.mark.parametrize("form", ["list", "lines"])
@pytest.mark.parametrize(
    ("more", "rows"), [(', "co2_ppm": 999', 8), (', "a": {"b": 1, "b": 2}', 8), (', "hcho_ppm": 0.031', 9)]
)
@pytest.mark.parametrize("at", [0, 4])
def test_a_key_that_stands_twice_in_one_object(tmp_path: Path, form: str, more: str, rows: int, at: int) -> None:
    texts = [json.dumps(row) for row in ROWS]
    texts[at] = f"{texts[at][:-1]}{more}}}"
    found = whole(tmp_path, f"[{','.join(texts)}]" if form == "list" else "\n".join(texts))
    told = [(line, code) for line, _, _, code in found.problems]
    assert (len(found.lines), told) == (rows, [(at + 1, "double_key")] * (9 - rows))


@pytest.mark.parametrize("indent", [None, 1])
@pytest.mark.parametrize("values", [1500, 3])
def test_one_damaged_record_of_many_that_stand_alone(tmp_path: Path, values: int, indent: int | None) -> None:
    """Also of lines so long that the first bytes show but a part of the first one, a list that goes on."""
    texts = [json.dumps({**row, "spectrum": list(range(values))}, indent=indent) for row in ROWS]
    texts[4] = texts[4][:-8]
    found = whole(tmp_path, "\n".join(texts) + "\n")
    assert len(found.lines) == 8
    assert "bad_line" in {code for *_, code in found.problems}


@pytest.mark.parametrize(("cut", "rows"), [(3, 8), (40, 8), (1, 9), (2, 9)])
def test_a_document_that_is_cut_off(tmp_path: Path, cut: int, rows: int) -> None:
    found = whole(tmp_path, DOCUMENTS["a list on many lines"][:-cut])
    assert (len(found.lines), "truncated_file" in {p[3] for p in found.problems}) == (rows, True)


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (json.dumps({"a": ROWS, "b": ROWS}), "not_a_log", "more than one list of objects (“a” and “b”)"),
        (json.dumps({"a": 1, "b": {"c": [1, 2]}}, indent=1), "not_a_log", "no list of objects"),
        (json.dumps({"rows": [["time", "co2"], ["2026-09-15", 1]]}, indent=1), "not_a_log", "no list of objects"),
        (json.dumps([["2026-09-15 08:00", 612]]), "not_a_log", "no list of objects"),
        ('{"a": 1, "b" 2, "rows": [\n{"time": 1}]}', "broken_json", "damaged"),
        ("[]", "not_a_log", "is empty"),
        ('[{"a": "' + "x" * 5_000_000, "broken_json", "longer than a million"),
        ('[{"name": "A", "latitude": 31.9}, {"name": "B", "latitude": 30.6}]', "not_a_log", "does not look like a log"),
        (
            json.dumps(ROWS).replace("}", ', "co2_ppm": 1}'),
            "not_a_log",
            "“co2_ppm” stands twice",
        ),
        (json.dumps({"co2": TIMED, "hcho": TIMED}), "not_a_log", "more than one object with times for its keys"),
        (json.dumps({"a": ROWS, "b": TIMED}), "not_a_log", "or one beside a list (“a” and “b”)"),
        (json.dumps({"a": TIMED, "b": ROWS}), "not_a_log", "more than one"),
    ],
    ids=range(12),
)
def test_what_is_refused_with_the_reason(tmp_path: Path, content: str, code: str, words: str) -> None:
    found, message = refused(tmp_path, content.encode())
    assert (found, words in message) == (code, True), message


def test_a_long_one_does_not_fill_the_memory(tmp_path: Path) -> None:
    row = json.dumps(ROWS[0])

    def pieces() -> Iterator[bytes]:
        yield b'{"rows": ['
        for _ in range(200):
            yield (row + ",\n").encode() * 1000
        yield (row + "]}").encode()

    source = pieces()
    tracemalloc.start()
    records, total = JsonRecords(lambda _: next(source, b"")), 0
    while piece := records.read(1 << 20):
        total += piece.count(b"\n")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (total, records.truncated) == (200_001, False)
    assert peak < 8 << 20


TIMES, CO2 = [row["time"] for row in ROWS], [row["co2_ppm"] for row in ROWS]
COLUMNS: dict[str, Any] = {"time": TIMES, "co2_ppm": CO2, "hcho_ppm": [0.031] * 9}
RAW = [list(row) for row in zip(*COLUMNS.values(), strict=True)]
BY_COLUMNS: dict[str, Any] = {
    "columns": COLUMNS,
    "under a key": {"version": 3, "data": COLUMNS, "count": 9},
    "in two places": {"time": TIMES, "values": {"co2_ppm": CO2, "hcho_ppm": [0.031] * 9}},
    "rows and names": {"columns": list(COLUMNS), "data": RAW},
    "names behind the rows": {"data": {"rows": RAW, "fields": list(COLUMNS)}},
    "rows, names and times": {"columns": list(COLUMNS)[1:], "index": TIMES, "data": [row[1:] for row in RAW]},
    "counted rows": {"columns": list(COLUMNS), "index": list(range(9)), "data": RAW},
}


@pytest.mark.parametrize("name", BY_COLUMNS)
@pytest.mark.parametrize("indent", [None, 1])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_values_by_columns(tmp_path: Path, name: str, indent: int | None, encoding: str) -> None:
    found = whole(tmp_path, json.dumps(BY_COLUMNS[name], indent=indent).encode(encoding))
    assert found.values.tolist() == [[400.0 + n, 0.031] for n in range(9)]
    assert (found.lines, found.problems, found.stamps[1]) == (list(range(1, 10)), [], ms_of(clock(2026, 9, 15, 8, 1)))


@pytest.mark.parametrize(
    ("document", "words"),
    [
        ({"time": TIMES, "co2_ppm": CO2[:-1]}, "unequal lengths (“time” 9, “co2_ppm” 8)"),
        (
            {"a": {"time": TIMES, "co2_ppm": CO2}, "b": {"t": []}},
            "unequal lengths (“a.time” 9, “a.co2_ppm” 9, “b.t” 0)",
        ),
        (
            {"columns": ["co2_ppm"], "index": TIMES[1:], "data": [[n] for n in CO2]},
            "“index” of this JSON document has 8",
        ),
        ({"columns": ["t", "c", "c"], "data": RAW}, "are called “c”"),
        ({"time": TIMES, "co2_ppm": CO2, "t": [1, {}]}, "“t” of this JSON document is a list of values and of lists"),
        ({"columns": ["a", "b"], "data": RAW}, "no list of objects"),
    ],
    ids=range(6),
)
@pytest.mark.parametrize("indent", [None, 1])
def test_columns_that_do_not_belong_together(
    tmp_path: Path, document: dict[str, Any], words: str, indent: int | None
) -> None:
    code, message = refused(tmp_path, json.dumps(document, indent=indent).encode())
    assert (code, words in message) == ("not_a_log", True), message


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (json.dumps(COLUMNS)[:-30], "ends before they are complete"),
        (json.dumps(COLUMNS).replace("401,", "401,,"), "damaged"),
        (json.dumps(COLUMNS).replace("401,", "401"), "damaged"),
        (json.dumps(COLUMNS)[:-1] + ', "time": [1, 2]}', "“time” stands twice"),
    ],
    ids=range(4),
)
def test_columns_that_are_damaged(tmp_path: Path, text: str, words: str) -> None:
    _, message = refused(tmp_path, text.encode())
    assert words in message


def test_long_columns_do_not_fill_the_memory() -> None:
    """Ten megabytes, so that what is held of them shows."""

    def pieces() -> Iterator[bytes]:
        for name in ("time", "note"):
            yield b'%s"%s": ["' % (b"{" if name == "time" else b'"], ', name.encode())
            yield from (b"x" * 1000 + b'", "' for _ in range(5000))
        yield b'"]}'

    source = pieces()
    tracemalloc.start()
    records, total = JsonRecords(lambda _: next(source, b"")), 0
    while piece := records.read(1 << 16):
        total += piece.count(b"\n")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (total, records.truncated) == (5001, False)
    assert peak < 4 << 20


@pytest.mark.parametrize("step", [1, 2, 3, 5, 64])
def test_columns_in_pieces(step: int) -> None:
    """Which cut numbers anywhere."""
    text = json.dumps({"a": [1.5e-7, -0.25, 12], "b": [1e300, 0, -3.5]}, indent=1).encode()
    source = (text[at : at + step] for at in range(0, len(text), step))
    lines = JsonRecords(lambda _: next(source, b"")).read(1 << 16).splitlines()
    assert [json.loads(line) for line in lines] == [
        {"a": 1.5e-7, "b": 1e300}, {"a": -0.25, "b": 0}, {"a": 12, "b": -3.5},
    ]  # fmt: skip


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=6,
)
RECORDS = st.lists(st.dictionaries(st.text(max_size=4), ANY, min_size=1, max_size=4), min_size=1, max_size=6)


@given(RECORDS, st.sampled_from((None, 0, 3)), st.integers(1, 50), st.booleans())
@settings(max_examples=examples(150), deadline=None)
def test_the_same_records_as_the_standard_library(records: Any, indent: int | None, step: int, ascii_: bool) -> None:
    """In pieces of any length, which cut numbers, escapes and letters of several bytes."""
    text = json.dumps(records, indent=indent, ensure_ascii=ascii_).encode(errors="replace")
    places = iter(range(0, len(text), step))
    found = JsonRecords(lambda _: text[at : at + step] if (at := next(places, -1)) >= 0 else b"")
    lines = b"".join(iter(lambda: found.read(7), b"")).decode().removesuffix("\n").split("\n")
    assert [json.loads(line) for line in lines] == json.loads(text)


@given(st.sampled_from(sorted(DOCUMENTS)), st.lists(st.tuples(st.floats(0, 1), st.sampled_from(list('[]{},:"\\9 \n\0'))), min_size=1, max_size=4))  # fmt: skip # noqa: E501
@settings(max_examples=examples(150), deadline=None)
def test_damaged_documents(name: str, blows: list[tuple[float, str]]) -> None:
    content = DOCUMENTS[name]
    for share, piece in blows:
        at = int(share * len(content))
        content = content[:at] + piece + content[at + 1 :]
    go_through(content.encode())


def test_hostile_blanks_and_depths_end_soon(tmp_path: Path) -> None:
    for content in (b"[{" + b" " * 20_000_000, b'[{"a":1},' + b"\n" * 20_000_000, b'[{"a":' + b"[" * 3_000_000, b'{"a":' * 100_000):  # fmt: skip # noqa: E501
        go_through(content)
    assert is_document(b'[{"a":')
