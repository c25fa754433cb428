"""Plain bytes to blocks of whole lines: every line once, with its number, whatever the pieces and the sizes."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import Unreadable
from methods.logs.files.sources import Source
from methods.logs.text import lines


def a_source(content: bytes, piece: int = 1 << 20) -> Source:
    stream = io.BytesIO(content)
    return Source(lambda count: stream.read(min(count, piece)), stream.tell, "", len(content))


texts = st.lists(st.text("ab;é°1", max_size=8), max_size=30)


@given(texts, st.booleans(), st.integers(1, 9), st.integers(1, 12), st.integers(1, 40))
@settings(max_examples=150, deadline=None)
def test_every_line_once(found: list[str], closed: bool, count: int, first: int, piece: int) -> None:
    text = "\n".join(found) + ("\n" if closed and found else "")
    blocks = list(lines.blocks(a_source(text.encode(), piece), "utf-8", lines=count, first_line=first))
    seen = [(block.first_line + i, block.text(i)) for block, _ in blocks for i in range(block.n)]
    expected = list(enumerate(text.split("\n"), 1))
    if expected[-1][1] == "":
        expected.pop()
    assert seen == [(number, line) for number, line in expected if number >= first]
    assert [is_last for _, is_last in blocks] == [False] * (len(blocks) - 1) + [True] * bool(blocks)
    assert all(block.n <= count for block, _ in blocks)


def test_long_lines_do_not_pile_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines, "MOST_BYTES", 10_000)
    content = (b"x" * 900 + b"\n") * 1000
    blocks = list(lines.blocks(a_source(content, 4_000), "utf-8", lines=50_000))
    assert max(len(block.raw) for block, _ in blocks) < 15_000
    assert sum(block.n for block, _ in blocks) == 1000


def test_a_line_without_end_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines, "LONGEST_LINE", 10_000)
    with pytest.raises(Unreadable) as caught:
        list(lines.blocks(a_source(b"a\n" + b"x" * 50_000, 4_000), "utf-8", lines=10))
    assert caught.value.problems[0].code == "line_too_long"


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        (b"", "utf-8"),
        (b"Time;CO2\n", "utf-8"),
        ("Zeit;°C\n".encode(), "utf-8"),
        ("Zeit;°C\n".encode()[:-3], "utf-8"),  # cut inside the last letter
        ("Zeit;°C\n".encode("cp1252"), "cp1252"),
        ("\ufeffZeit;°C\n".encode(), "utf-8"),
        ("\ufeffZeit;°C\n".encode("utf-16-le"), "utf-16-le"),
        ("\ufeffZeit;°C\n".encode("utf-16-be"), "utf-16-be"),
        ("Zeit;°C\n".encode("utf-16-le"), "utf-16-le"),
        ("Zeit;°C\n".encode("utf-16-be"), "utf-16-be"),
        ("Zeit;甲醛\n1;2\n3;4\n5;6\n".encode("utf-16-be"), "utf-16-be"),
    ],
)
def test_the_encoding(content: bytes, encoding: str) -> None:
    assert lines.sniff_encoding(content) == encoding


def test_lone_carriage_returns_end_lines_too() -> None:
    [(block, _)] = lines.blocks(a_source(b"a;1\rb;2\r"), "utf-8", lines=10)
    assert [block.text(i) for i in range(block.n)] == ["a;1", "b;2"]
