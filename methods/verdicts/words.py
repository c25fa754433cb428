"""The four verdicts, in one place: their words and glyphs. Never by colour alone, never more than they say."""

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
