"""Texts that are not Unicode: what they can be in, what is asked, and what an answer is worth for the next file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from charset_normalizer import from_bytes
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import understand
from methods.logs.layouts.layout_answers import answer
from methods.logs.layouts.layout_corrections import carry_over
from methods.logs.text.encodings import ENCODINGS, encodings_of
from methods.logs.types import Layout
from tests.examples import examples
from tests.methods.logs.corpus.charsets import STAMPS, WORDS, table
from tests.methods.logs.logs import read_all

EAST_AND_CYRILLIC = ("cp1251", "koi8_r", "gb18030", "big5", "cp932", "cp949")
ASKED = "Time;HCHO (ppm);Temp (C);备注"


@pytest.mark.parametrize("encoding", EAST_AND_CYRILLIC)
def test_a_library_takes_the_same_text_for_possible(encoding: str) -> None:
    """Source: charset-normalizer, which weighs languages where we weigh spelling."""
    raw = table(encoding, f"{';'.join(WORDS[encoding])}")
    read = raw.decode(encoding)
    assert read in {str(match) for match in from_bytes(raw)}
    assert read in {raw.decode(able) for able in encodings_of(raw)}


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_an_encoding_is_never_out_of_the_question_for_its_own_words(encoding: str) -> None:
    assert encoding in encodings_of(table(encoding, ";".join(WORDS[encoding])))


def asked(path: Path, encoding: str = "gb18030") -> tuple[Layout, Layout]:
    path.write_bytes(table(encoding, ASKED))
    found = understand(path, name="log")
    assert found.layout is not None
    question = found.questions[0]
    assert question.code == "encoding"
    assert any(words.endswith("| 备注") for _, words in question.choices)
    return found.layout, answer(found.layout, question, "gb18030")


def test_an_answer_names_the_columns_and_holds_for_the_next_file(tmp_path: Path) -> None:
    seen, settled = asked(tmp_path / "log")
    assert (settled.encoding, settled.columns[3].name) == ("gb18030", "备注")
    carried = carry_over(seen, seen, settled, asked={"encoding"})
    assert (carried.encoding, carried.columns[3].name) == ("gb18030", "备注")


@pytest.mark.parametrize("encoding", ["cp1252", "cp850"])
@pytest.mark.parametrize(("name", "settles"), [("Humidité relative", True), ("Humidité (%)", True), ("Büro RH", False)])
def test_a_name_that_is_a_known_word_in_one_of_them(tmp_path: Path, encoding: str, name: str, *, settles: bool) -> None:
    lines = "".join(f"{stamp};45.2\n" for stamp in STAMPS)
    (tmp_path / "log").write_bytes(f"Date;{name}\n{lines}".encode(encoding))
    found = understand(tmp_path / "log", name="log")
    assert found.layout is not None
    assert [q.code for q in found.questions] == [] if settles else ["encoding"]
    assert not settles or found.layout.columns[1].name == name


def test_of_a_long_line_of_names_those_are_shown_that_differ(tmp_path: Path) -> None:
    names = ["Time", "CO2 (ppm)", *(f"Some long name {number}" for number in range(20)), "Büro"]
    lines = "".join(f"{stamp};612{';' * 21}\n" for stamp in STAMPS)
    (tmp_path / "log").write_bytes(f"{';'.join(names)}\n{lines}".encode("cp1252"))
    asked = [q for q in understand(tmp_path / "log", name="log").questions if q.code == "encoding"]
    assert any(words.endswith(": Büro") for _, words in asked[0].choices)


def test_a_byte_of_a_character_is_no_bar(tmp_path: Path) -> None:
    """The second byte of a Japanese letter is that of "|"."""
    lines = [f"{stamp}|{number}|ポート\n" for number, stamp in enumerate(STAMPS, 600)]
    path = tmp_path / "log"
    path.write_bytes(("Time|CO2 (ppm)|備考\n" + "".join(lines)).encode("cp932"))
    found = understand(path, name="log")
    assert found.layout is not None
    assert found.layout.encoding == "cp932"
    assert read_all(path, found.layout).values[:, 0].tolist() == list(range(600, 610))


@given(st.lists(st.integers(0, 9_999), min_size=10, max_size=10), st.sampled_from(sorted(ENCODINGS)))
@settings(max_examples=examples(40), deadline=None)
def test_numbers_and_dates_are_the_same_in_all_of_them(numbers: list[int], encoding: str) -> None:
    lines = [f"{stamp};{number};备注\n" for stamp, number in zip(STAMPS, numbers, strict=True)]
    with TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        path.write_bytes(("Time;CO2 (ppm);备注\n" + "".join(lines)).encode("gb18030"))
        layout = understand(path, name="log").layout
        assert layout is not None
        whole = [read_all(path, replace(layout, encoding=able)) for able in ("gb18030", encoding)]
    assert whole[0].stamps == whole[1].stamps
    np.testing.assert_array_equal(whole[0].values, whole[1].values)
