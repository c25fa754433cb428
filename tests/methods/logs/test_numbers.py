"""Numbers: many at once are what Python makes of each, and the marks of a file are found from its own cells."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import understand
from methods.logs.text.block import make_block
from methods.logs.values import numerals
from methods.logs.values.cells import DEFAULT_MISSING, MISMATCH, TEXT, CellReader
from methods.logs.values.vector_numbers import numbers
from tests.examples import examples
from tests.methods.logs.logs import read_all, write

PLAIN = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")

texts = st.one_of(
    st.from_regex(r"\A[+-]?[0-9]{0,10}\.?[0-9]{0,10}\Z"),
    st.decimals(allow_nan=False, allow_infinity=False, places=4).map(str),
    st.text("0123456789.+-eE,x /:\u00b5", max_size=18),
).filter(lambda text: "\n" not in text)


@given(st.lists(texts, min_size=1, max_size=50), st.sampled_from([".", ","]))
@settings(max_examples=examples(100), deadline=None)
def test_what_the_vectors_read_is_what_float_reads(cells: list[str], decimal: str) -> None:
    written = [
        cell.replace(".", "\0").replace(",", ".").replace("\0", decimal) if decimal == "," else cell for cell in cells
    ]
    block = make_block(("\n".join(written) + "\n").replace("\0", ",").encode(), 1)
    values, known = numbers(block, block.starts, block.ends, decimal)
    for i in range(block.n):
        text = block.text(i).replace(decimal, ".") if decimal == "," else block.text(i)
        if known[i]:
            assert PLAIN.fullmatch(text)
            assert (values[i], np.signbit(values[i])) == (float(text), text.startswith("-"))
        elif PLAIN.fullmatch(text) and "." not in block.text(i).replace(decimal, ""):
            assert sum(c.isdigit() for c in text) > 15 or len(text.lstrip("+-")) > 16


@given(st.lists(st.integers(0, 10**6).map(lambda n: n / 1000), min_size=1, max_size=40))
@settings(deadline=None)
def test_every_usual_number_takes_the_fast_path(values: list[float]) -> None:
    block = make_block("\n".join(f"{value:.3f}" for value in values).encode(), 1)
    found, known = numbers(block, block.starts, block.ends, ".")
    assert known.all()
    assert found.tolist() == [float(f"{value:.3f}") for value in values]


@pytest.mark.parametrize(
    ("cells", "decided"),
    [
        (["0.03", "12.5"], (".", "", False)),
        (["0,03", "12,5"], (",", "", False)),
        (["450", "1200"], (".", "", False)),
        (["1.234,5", "12,5"], (",", ".", False)),
        (["1,234.5", "12.5"], (".", ",", False)),
        (["1,234,567"], (".", ",", False)),
        (["1.234.567"], (",", ".", False)),
        (["1 234,5", "12,5"], (",", " ", False)),
        (["1'234.5"], (".", "'", False)),
        (["0,123"], (",", "", False)),
        (["1.234", "2.345"], (".", "", False)),
        (["1,234", "2,345"], (",", "", True)),
        (["1,234", "0.5"], (".", ",", False)),
        (["1.234", "0,5"], (",", ".", False)),
        (["<0,5", ">12,25"], (",", "", False)),
        (["21,3", "45,2", "12.341", "0.980"], (",", "", True)),
        (["0.980", "0.981", "21,3", "1.234"], (".", "", True)),
        (["0.031.412", "0,5"], (",", "", False)),
    ],
)
def test_the_marks_of_a_file(cells: list[str], decided: tuple[str, str, bool]) -> None:
    assert numerals.decide(numerals.weigh(cells)) == decided


@pytest.mark.parametrize(
    ("decimal", "thousands", "text", "value"),
    [
        (".", ",", "1,234,567.5", 1234567.5),
        (",", ".", "1.234,5", 1234.5),
        (",", " ", "1\u00a0234,5", 1234.5),
        (".", "'", "1’234.5", 1234.5),
        (",", ".", "12,5", 12.5),
    ],
)
def test_thousands(decimal: str, thousands: str, text: str, value: float) -> None:
    cell = CellReader(decimal, thousands, DEFAULT_MISSING).read(text)
    assert (cell.value, cell.code) == (value, "")


@pytest.mark.parametrize(
    ("decimal", "thousands", "text"),
    [(",", ".", "0.031"), (".", ",", "0,031"), (".", "'", "00'031"), (",", ".", "012.341")],
)
def test_no_group_of_thousands_begins_with_a_zero(decimal: str, thousands: str, text: str) -> None:
    assert CellReader(decimal, thousands, DEFAULT_MISSING).read(text).code == "text_in_number"


@pytest.mark.parametrize("text", ["12,34,5", "1,23", "1.2.3", "12:30", "0x1F", "1_000", "１２", "five"])
def test_what_is_no_number(text: str) -> None:
    assert CellReader(".", ",", DEFAULT_MISSING).read(text).code == "text_in_number"


@pytest.mark.parametrize("form", ["{}±0.002", "{} ± 0.002", "{} +/- 0.002", "{} ± 5 %", "{} ± 0.002 ppm", "<{}±0.002"])
@pytest.mark.parametrize("more", ["", ";21.5"])
def test_a_value_with_its_uncertainty(tmp_path: Path, form: str, more: str) -> None:
    head = "Time;HCHO (ppm)" + (";Temp (°C)" if more else "")
    lines = "".join(f"2026-09-15 08:0{k}:00;{form.format(f'0.03{k}')}{more}\n" for k in range(9))
    path = write(tmp_path / "log", f"{head}\n{lines}")
    found = understand(path, name="log")
    assert found.layout is not None, found.problems
    assert found.questions == ()
    whole = read_all(path, found.layout)
    assert whole.values[:, 0].tolist() == [float(f"0.03{k}") for k in range(9)]
    assert whole.problems == []


def test_an_uncertainty_in_another_unit_is_named() -> None:
    cells = CellReader(".", "", ())
    assert cells.read("0.030 ± 0.002 mg/m³", "ppm", "formaldehyde").code == MISMATCH
    assert cells.read("0.030 ± x", "ppm", "formaldehyde").code == TEXT
