"""Whose months they are, where the same words name other months in several languages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from methods.logs.sketch import Sketch
from methods.logs.stamps.calendar_words import language_name
from methods.logs.stamps.stamp_formats import compiled, in_language, show
from methods.logs.survey import SurveyTally
from methods.logs.types import Layout, LayoutQuestion

CODE = "month_language"


def settle_months(sketch: Sketch, tallies: Sequence[SurveyTally]) -> None:
    """Takes the language in which the whole file can be read; asks where several mean different days by it."""
    seen = [tally for tally in tallies if tally.first is not None]
    able = [tally for tally in seen if not tally.refuted] or seen
    if not able:
        return
    if len({(tally.first, tally.last, tally.total) for tally in able}) == 1:
        sketch.put(stamp_format=able[0].form)
        return
    text = "The names of months in this file mean other months in other languages: in which language is it written?"
    sketch.questions.append(LayoutQuestion(CODE, text, tuple(sorted(map(_choice, able), key=lambda c: c[1]))))


def _choice(tally: SurveyTally) -> tuple[str, str]:
    language = compiled(tally.form).language
    return (
        language,
        f"{language_name(language)}: the file then runs from {show(tally.first or 0)} to {show(tally.last or 0)}",
    )


def with_language(layout: Layout, language: str) -> Layout:
    """``layout`` with the names of its months in ``language``."""
    return replace(layout, stamp_format=in_language(layout.stamp_format, language))
