"""A report as a PDF, set from its content and from nothing else.

typst brings its own compiler and fonts. What people wrote reaches the template as data (``sys.inputs``), never as
markup, so a room may be called ``#panic("x")``. The same content gives the same bytes.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import typst

from methods.wording.plain_text import all_visible
from reports.content.drawn_series import courses
from reports.content.record import SignedContent
from reports.content.stored import digest_of, to_store

FOLDER = Path(__file__).parent

#: From here on characters are in scripts that the embedded fonts do not have: Hebrew and eastwards, except the
#: punctuation and symbols in between.
FIRST_OTHER_SCRIPT, SYMBOLS = "\u0590", ("\u1e00", "\u2bff")


def render(content: SignedContent, *, draft: str = "") -> bytes:
    """The PDF of a signed content; ``draft``: digest of what would be signed, for one that nobody has signed.

    Raises typst.TypstError if the template cannot be set, which is a fault of ours.
    """
    document = typst.compile(
        FOLDER / "report.typ",
        root=FOLDER,
        format="pdf",
        sys_inputs=inputs_of(content) | ({"digest": draft, "draft": "yes"} if draft else {}),
        ignore_system_fonts=not needs_other_fonts(to_store(content)),
        timestamp=datetime.fromisoformat(content.signature.signed_at),
    )
    assert isinstance(document, bytes)
    return document


def inputs_of(content: SignedContent) -> dict[str, str]:
    """What the template is set from: the content without the points of its courses, these as drawings by the key of
    their zone, and the digest of all. Characters that nobody sees, and that no drawing may hold, come as signs."""
    said = {"content": to_store(_without_courses(content)), "drawings": _drawings(content)}
    return {name: json.dumps(all_visible(value)) for name, value in said.items()} | {"digest": digest_of(content)}


def _without_courses(content: SignedContent) -> SignedContent:
    return replace(
        content,
        buildings=tuple(
            replace(
                building,
                floors=tuple(
                    replace(floor, zones=tuple(replace(zone, courses=()) for zone in floor.zones))
                    for floor in building.floors
                ),
            )
            for building in content.buildings
        ),
    )


def _drawings(content: SignedContent) -> dict[str, list[dict[str, Any]]]:
    return {
        zone.key: [{"svg": c.svg, "caption": c.caption, "words": c.words} for c in courses(zone).values()]
        for zone in content.zones
        if zone.courses
    }


def needs_other_fonts(content: Any) -> bool:
    """Whether somebody wrote in a script that only the machine's own fonts can show. ``content``: as JSON."""
    text = json.dumps(content, ensure_ascii=False)
    first, last = SYMBOLS
    return any(char >= FIRST_OTHER_SCRIPT and not first <= char <= last for char in text)
