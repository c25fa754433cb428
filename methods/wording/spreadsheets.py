"""Text on its way into a spreadsheet. Pure."""

from __future__ import annotations

#: A cell that starts with one of these may be taken for a formula (OWASP, CSV injection; from memory).
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def harmless(text: str) -> str:
    """``text``, behind an apostrophe if a spreadsheet could run it. For cells that hold text, never for numbers."""
    return "'" + text if text.startswith(FORMULA_STARTS) else text


def quoted(text: str) -> str:
    """One field of RFC 4180, harmless, quoted where it must be."""
    text = harmless(text)
    if any(sign in text for sign in ',"\r\n'):
        return '"' + text.replace('"', '""') + '"'
    return text
