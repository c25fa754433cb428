"""Characters that nobody sees and that break what text is put into. Pure.

Control characters are not allowed in XML 1.0 (section 2.2), of which workbooks and drawings are made; U+0000 in no text
of PostgreSQL; halves of surrogate pairs in no UTF-8 (RFC 3629, section 3); what turns the direction of text (UAX 9,
section 2) lets a name look like another one.
"""

from __future__ import annotations

import re
from typing import Any, TypeVar

T = TypeVar("T")

#: Controls but for tab, line feed and carriage return; lone surrogates; embeddings, overrides and isolates of
#: direction; the two noncharacters that XML excludes.
UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufffe\uffff\ud800-\udfff]")
#: In a text of one line also what begins another.
BREAKS = re.compile("[\t\n\r\u2028\u2029]")
C0_PICTURES, DEL_PICTURE, REPLACEMENT = 0x2400, "\u2421", "\ufffd"


def refusal(text: str, *, one_line: bool) -> str:
    """Why a person's text cannot be taken, in a sentence; "" if it can."""
    found = UNSEEN.search(text) or (BREAKS.search(text) if one_line else None)
    if found is None:
        return ""
    kind = "a line break or a tab" if BREAKS.match(found[0]) else "a character that cannot be seen"
    return f"There is {kind} in this text (U+{ord(found[0]):04X}, character {found.start() + 1}). Take it out."


def visible(text: str) -> str:
    """``text`` with a sign in place of each such character: their pictures where Unicode has them ("␋")."""
    return UNSEEN.sub(lambda found: _picture(ord(found[0])), text)


def all_visible(value: T) -> T:
    """The same for every text in plain data as JSON has it."""
    seen: T = _through(value)
    return seen


def refused_in(value: Any, place: str = "") -> tuple[str, str, str] | None:
    """Of plain data that was sent: (id of the innermost object that has one, name of the field, why) of the first text
    that cannot be taken in JSON at all; None if there is none. Line breaks are the fields' own matter."""
    if isinstance(value, dict):
        inner = value["id"] if isinstance(value.get("id"), str) else place
        for name, held in value.items():
            if (why := refusal(str(name), one_line=False)) or (isinstance(held, str) and (why := _why(held))):
                return visible(inner), visible(str(name)), why
            if found := refused_in(held, inner):
                return found
    elif isinstance(value, list):
        return next((found for held in value if (found := _of_item(held, place))), None)
    return None


def _of_item(held: Any, place: str) -> tuple[str, str, str] | None:
    if isinstance(held, str) and (why := _why(held)):
        return visible(place), "", why
    return refused_in(held, place)


def _why(text: str) -> str:
    return refusal(text, one_line=False)


def _picture(code: int) -> str:
    if code < 0x20:
        return chr(C0_PICTURES + code)
    return DEL_PICTURE if code == 0x7F else REPLACEMENT


def _through(value: Any) -> Any:
    if isinstance(value, str):
        return visible(value)
    if isinstance(value, dict):
        return {_through(name): _through(held) for name, held in value.items()}
    if isinstance(value, list | tuple):
        return type(value)(_through(held) for held in value)
    return value
