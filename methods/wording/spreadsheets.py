"""Text on its way into a spreadsheet. Pure."""

from __future__ import annotations

import re

from methods.wording.plain_text import visible

#: A cell that starts with one of these may be taken for a formula (OWASP, CSV injection; from memory). The full-width
#: forms are folded to them by spreadsheets of East Asia (common practice, no source).
SIGNS = "=+-@＝＋－＠"
FORMULA_STARTS = (*SIGNS, "\t", "\r", "\n")
#: Blanks that a spreadsheet takes away, and a sign.
BLANKS = r"[ \u00a0\u3000\ufeff\u200b]*"
BLANKS_FIRST = re.compile(f"{BLANKS}[{re.escape(SIGNS)}]")
#: Where lists are parted by semicolons, as in most of Europe, these begin another cell even within a quoted one.
CELL_INSIDE = re.compile(f"([;\\t\\r\\n]{BLANKS}[\"']?)(?=[{re.escape(SIGNS)}])")
NUMBER = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]+)?")


def harmless(text: str) -> str:
    """``text``, behind an apostrophe if a spreadsheet could run it, and with one wherever a spreadsheet that parts
    cells by semicolons, tabs or lines would begin a cell that it could run. For cells that hold text; what is nothing
    but a number stays one. Characters that no sheet may hold come as signs."""
    if NUMBER.fullmatch(text):
        return text
    text = visible(text)
    if text.startswith(FORMULA_STARTS) or BLANKS_FIRST.match(text):
        text = "'" + text
    return CELL_INSIDE.sub(r"\1'", text)


def quoted(text: str) -> str:
    """One field of RFC 4180, harmless, quoted where it must be."""
    text = harmless(text)
    if any(sign in text for sign in ',"\r\n'):
        return '"' + text.replace('"', '""') + '"'
    return text
