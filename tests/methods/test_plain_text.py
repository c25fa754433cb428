"""Which characters cannot be taken, held against the rules of those who could not take them."""

from __future__ import annotations

import sys
import unicodedata

import pytest

from methods.wording.plain_text import all_visible, refusal, refused_in, visible

EVERY = [chr(code) for code in range(sys.maxunicode + 1)]


def test_what_xml_excludes_is_seen_to() -> None:
    """XML 1.0, section 2.2: Char ::= #x9 | #xA | #xD | [#x20-#xD7FF] | [#xE000-#xFFFD] | [#x10000-#x10FFFF]."""

    def is_char(c: str) -> bool:
        code = ord(c)
        return c in "\t\n\r" or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000

    assert [c for c in EVERY if not is_char(c) and not refusal(c, one_line=False)] == []
    assert all(is_char(visible(c)) for c in EVERY[:0x11000])


def test_what_turns_the_direction_is_seen_to_and_marks_of_scripts_are_not() -> None:
    """UAX 9, section 2: the classes that Unicode's own data gives them."""
    turning = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    for c in EVERY:
        if unicodedata.bidirectional(c) in turning:
            assert refusal(c, one_line=False), hex(ord(c))
    for name in ("LEFT-TO-RIGHT MARK", "RIGHT-TO-LEFT MARK", "ZERO WIDTH JOINER", "NO-BREAK SPACE", "SOFT HYPHEN"):
        assert refusal(unicodedata.lookup(name), one_line=True) == ""


@pytest.mark.parametrize("text", ["Küche 2 – Süd", "حجرة ١", "室内", "👩‍🔬", "µg/m³ @ 25 °C", ""])
def test_what_people_write_is_taken(text: str) -> None:
    assert refusal(text, one_line=True) == ""
    assert visible(text) == text


def test_the_refusal_says_what_and_where() -> None:
    said = refusal("Attic\x0bstudio", one_line=True)
    assert said == "There is a character that cannot be seen in this text (U+000B, character 6). Take it out."
    assert "line break" in refusal("Attic\nstudio", one_line=True)
    assert refusal("Attic\nstudio", one_line=False) == ""


def test_each_becomes_a_sign() -> None:
    assert visible("a\x00b\x0bc\x7fd\x85e\ud800f\u202eg") == "a␀b␋c␡d�e�f�g"
    assert all_visible({"n\x01": ["\x02", ("\x03", 4, None)]}) == {"n␁": ["␂", ("␃", 4, None)]}


def test_in_what_was_sent_the_row_and_the_field_are_named() -> None:
    sent = {"version": 1, "rooms": [{"id": "a", "name": "Ash"}, {"id": "b", "name": "B\x00"}]}
    found = refused_in(sent)
    assert found is not None
    assert found[:2] == ("b", "name")
    assert refused_in({"removed": {"rooms": ["\ud800"]}}) is not None
    assert refused_in({"\ud800": 1}) is not None
    assert refused_in({"rooms": [{"id": "a", "name": "Ash\n"}]}) is None
