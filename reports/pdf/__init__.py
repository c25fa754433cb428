"""A report as a PDF, set from its content and from nothing else.

typst brings its own compiler and fonts. What people wrote reaches the template as data (``sys.inputs``), never as
markup, so a room may be called ``#panic("x")``. The same content gives the same bytes.
"""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import typst

from reports.content.canonical import digest
from reports.content.drawn_series import courses

FOLDER = Path(__file__).parent

#: From here on characters are in scripts that the embedded fonts do not have: Hebrew and eastwards, except the
#: punctuation and symbols in between.
FIRST_OTHER_SCRIPT, SYMBOLS = "\u0590", ("\u1e00", "\u2bff")


def render(content: dict[str, Any]) -> bytes:
    """The PDF of a signed content. Raises typst.TypstError if the template cannot be set, which is a fault of ours."""
    inputs = {"content": json.dumps(with_drawings(content)), "digest": digest(content)}
    document = typst.compile(
        FOLDER / "report.typ",
        root=FOLDER,
        format="pdf",
        sys_inputs=inputs,
        ignore_system_fonts=not needs_other_fonts(content),
        timestamp=datetime.fromisoformat(content["signature"]["signed_at"]),
    )
    assert isinstance(document, bytes)
    return document


def with_drawings(content: dict[str, Any]) -> dict[str, Any]:
    """The content with each zone's courses as drawings in place of their points."""
    buildings = [
        building | {"floors": [floor | {"zones": list(map(_drawn, floor["zones"]))} for floor in building["floors"]]}
        for building in content["buildings"]
    ]
    return content | {"buildings": buildings}


def _drawn(zone: dict[str, Any]) -> dict[str, Any]:
    said = ("svg", "caption", "words")
    drawings = [{name: one[name] for name in said} for one in courses(zone).values()]
    return zone | {"courses": [], "drawings": drawings}


def needs_other_fonts(content: Any) -> bool:
    """Whether somebody wrote in a script that only the machine's own fonts can show."""
    text = json.dumps(content, ensure_ascii=False)
    first, last = SYMBOLS
    return any(char >= FIRST_OTHER_SCRIPT and not first <= char <= last for char in text)
