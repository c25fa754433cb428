"""How a layout is told to people: in words, without the signs that only the program knows."""

from __future__ import annotations

import pytest

from methods.logs.layouts.layout_wording import time_words, written_words
from methods.logs.stamps.stamp_formats import COUNT_MS, NUMERIC
from methods.logs.types import Layout

OWN = ("hhmm", "hhmmss", "hours", "minutes", "begin", "end", "open", *COUNT_MS)


@pytest.mark.parametrize("form", [*(f"%Y-%m-%d\t%<{sign}>" for sign in OWN), *sorted(NUMERIC), "%d %b[hr] %Y"])
def test_no_sign_of_the_program_is_shown(form: str) -> None:
    layout = Layout("delimited", stamp_format=form)
    for told in (written_words(layout), time_words(layout)):
        assert not {"<", ">", "[", "_"} & set(told)


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ("%<s>", "a count of seconds"),
        ("%d.%m.%Y\t%H:%M", "%d.%m.%Y | %H:%M"),
        ("%Y-%m-%d\t%<hhmm>", "%Y-%m-%d | hours and minutes as one number (905)"),
        ("%d %b[hr] %Y", "%d %b %Y (months in Croatian)"),
        ("epoch_s", "1700000000 (seconds since 1970)"),
        ("", ""),
    ],
)
def test_how_stamps_are_written(form: str, told: str) -> None:
    assert written_words(Layout("delimited", stamp_format=form)) == told
