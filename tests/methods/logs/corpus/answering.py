"""Answers as the user of a file would give them, question after question."""

from __future__ import annotations

from collections.abc import Mapping

from methods.logs import Layout, Understanding
from methods.logs.layouts.layout_answers import answer, questions_left
from methods.logs.types import CHOICE, LayoutQuestion
from tests.methods.logs.corpus.truth import Answers

MOST = 40


def by_code(said: Mapping[str, str]) -> Answers:
    """``said``: for each code of a question, the beginning of the words of the choice taken, or what is typed."""

    def settle(understood: Understanding) -> Layout:
        layout = understood.layout
        assert layout is not None
        for question in understood.questions:
            layout = answer(layout, question, _choice(question, said))
        for _ in range(MOST):
            left = questions_left(layout)
            if not left:
                return layout
            layout = answer(layout, left[0], _choice(left[0], said))
        raise AssertionError(f"still asked: {[question.code for question in left]}")

    return settle


def _choice(question: LayoutQuestion, said: Mapping[str, str]) -> str:
    wanted = said[question.code]
    chosen = [value for value, words in question.choices if words.startswith(wanted)]
    return chosen[0] if chosen or question.answer_kind == CHOICE else wanted
