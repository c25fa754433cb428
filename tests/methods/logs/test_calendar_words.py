"""Names of months and of the halves of the day, against CLDR as Babel has it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from methods.logs import understand
from methods.logs.layouts.layout_answers import answer
from methods.logs.layouts.layout_corrections import carry_over
from methods.logs.stamps.calendar_words import MONTHS, TABLE, half_of, language_name, languages_for, month_of
from methods.logs.stamps.stamp_formats import compiled, in_language
from tests.methods.logs.calendar_words import months, table
from tests.methods.logs.logs import clock, ms_of, write


def test_the_table_is_that_of_babel() -> None:
    assert TABLE.read_text(encoding="utf-8") == table(), "run: make docs"


def test_every_month_is_read_in_its_language() -> None:
    for language, names in months().items():
        for number, words in enumerate(names, 1):
            assert {month_of(word.upper() + ".", language) for word in words} <= {number}, language


def test_without_a_language_a_word_is_one_month_or_none() -> None:
    """But for the words of the first table, which prevail."""
    meant: dict[str, set[int]] = {}
    for names in months().values():
        for number, words in enumerate(names, 1):
            for word in words:
                meant.setdefault(word, set()).add(number)
    assert len(meant) > 3000
    for word, numbers in meant.items():
        assert month_of(word) == (MONTHS.get(word) or (next(iter(numbers)) if len(numbers) == 1 else 0))


@pytest.mark.parametrize(
    ("words", "languages"),
    [
        (["mar", "apr"], ("",)),
        (["sty", "gru"], ("",)),
        (["lis"], ("cs", "hr", "pl", "szl")),
        (["lis", "gru"], ("pl", "szl")),
        (["lis", "stu"], ("hr",)),
        (["srp", "lis"], ("cs", "hr")),
        (["mar", "rar"], ("teo",)),
    ],
)
def test_all_the_words_tell_the_language(words: list[str], languages: tuple[str, ...]) -> None:
    assert languages_for(words) == languages


def test_half_words_are_one_half_everywhere() -> None:
    assert [half_of(word) for word in ("AM", "p. m.", "上午", "午後", "오후", "μ.μ.", "م", "ip.", "A", "room")] == [
        "am", "pm", "am", "pm", "pm", "pm", "pm", "", "", "",
    ]  # fmt: skip


def log(*stamps: str) -> str:
    return "Time;HCHO (ppm)\n" + "".join(f"{stamp};0.03{n % 10}\n" for n, stamp in enumerate(stamps))


NOVEMBER = [f"3 lis 2026 08:{minute:02}" for minute in range(30)]


def test_a_later_line_tells_whose_months_they_are(tmp_path: Path) -> None:
    """Far below the lines that are looked at first."""
    path = write(tmp_path / "log", log(*NOVEMBER * 20, "1 gru 2026 08:00"))
    found = understand(path, name="log")
    assert found.layout is not None
    assert (found.questions, compiled(found.layout.stamp_format).language) == ((), "pl")


def test_an_answer_holds_for_the_next_file_unless_that_one_tells(tmp_path: Path) -> None:
    seen = understand(write(tmp_path / "a", log(*NOVEMBER)), name="a")
    assert seen.layout is not None
    settled = answer(seen.layout, seen.questions[0], "pl")
    assert compiled(settled.stamp_format).parse("3 lis 2026 08:00") == ms_of(clock(2026, 11, 3, 8))
    assert [words.partition(":")[0] for _, words in seen.questions[0].choices] == sorted(
        map(language_name, ("cs", "hr", "pl", "szl"))
    )
    told = understand(write(tmp_path / "b", log(*NOVEMBER, "1 stu 2026 08:00")), name="b")
    for fresh, language in ((seen, "pl"), (told, "hr")):
        assert fresh.layout is not None
        carried = carry_over(fresh.layout, seen.layout, settled, asked={q.code for q in fresh.questions})
        assert carried.stamp_format == in_language(settled.stamp_format, language)


def test_importing_reads_no_table() -> None:
    script = "import methods.logs, methods.logs.stamps.calendar_words as w; print(w._all_words.cache_info().currsize)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "0"
