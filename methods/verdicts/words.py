"""The four verdicts and the marks of ranges, in one place: their words and glyphs. Never by colour alone, never more
than they say."""

from __future__ import annotations

from enum import StrEnum


class Verdict(StrEnum):
    """Where the true value lies, read literally. Whether the limit is met is another question: see ``Judgement``."""

    BELOW = "below"
    ABOVE = "above"
    UNDECIDED = "undecided"
    NOT_COMPARABLE = "not_comparable"

    @property
    def words(self) -> str:
        return VERDICT_WORDS[self]

    @property
    def glyph(self) -> str:
        return VERDICT_GLYPHS[self]


VERDICT_WORDS: dict[Verdict, str] = {
    Verdict.BELOW: "below limit",
    Verdict.ABOVE: "above limit",
    Verdict.UNDECIDED: "undecided",
    Verdict.NOT_COMPARABLE: "not comparable",
}
VERDICT_GLYPHS: dict[Verdict, str] = {
    Verdict.BELOW: "▽",
    Verdict.ABOVE: "△",
    Verdict.UNDECIDED: "◇",
    Verdict.NOT_COMPARABLE: "○",
}

#: Against a range a value is also "below" its upper end while it lies within: what is told and drawn is its own.
RANGE_WORDS: dict[str, str] = {
    "within_range": "within the range",
    "above_range": "above the range",
    "below_range": "below the range",
}
RANGE_GLYPHS: dict[str, str] = {"within_range": "⊡", "above_range": "↥", "below_range": "↧"}
#: Every mark and its glyph.
MARK_GLYPHS: dict[str, str] = {str(verdict): glyph for verdict, glyph in VERDICT_GLYPHS.items()} | RANGE_GLYPHS
_RANGE_MARKS = {words: mark for mark, words in RANGE_WORDS.items()}


def mark_of(verdict: str, words: str = "") -> str:
    """What is drawn for a verdict told in ``words``: ranges have marks of their own, all else its ``verdict``."""
    return _RANGE_MARKS.get(words, verdict)
