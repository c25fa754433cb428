"""``docs/glossary.md`` from the code's own words: ``python -m tests.architecture.glossary`` writes it anew.

Nothing is worded here: a meaning is the first sentence of a docstring, a choice is what a form offers.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

PAGE = Path(__file__).resolve().parents[2] / "docs" / "glossary.md"
APPS = ("campaigns", "readings", "reports")
#: A list of more choices than this is data (units, parameters, job kinds), not a vocabulary.
MOST_CHOICES = 9
HEAD = """# Glossary

One word per thing, the same in models, addresses, the API and pages. This page is written by `make docs` from the
code's own words: change them there.
"""


def glossary() -> str:
    """The whole page. Django has to be set up."""
    parts = [HEAD, *_things(), *_report(), *_flags(), *_choices(), *_substances(), *_reasons()]
    return "\n".join(parts).rstrip("\n") + "\n"


def first_sentence(doc: str | None) -> str:
    """Up to the first full stop that ends a line or is followed by a new sentence; "" where Django wrote it."""
    text = " ".join((doc or "").strip().split("\n\n")[0].split())
    found = re.match(r".*?[.!?](?= [A-Z]|$)", text)
    return found[0] if found else ""


def _table(*names: str) -> Iterator[str]:
    yield f"| {' | '.join(names)} |"
    yield f"|{' --- |' * len(names)}"


def _row(*cells: str) -> str:
    return f"| {' | '.join(cell.replace('|', '·').replace('``', '`') for cell in cells)} |"


def _things() -> Iterator[str]:
    from django.apps import apps

    from campaigns.naming import word

    yield "## Things\n"
    yield from _table("word", "what it is", "class")
    models = [model for label in APPS for model in apps.get_app_config(label).get_models()]
    for model in sorted(models, key=lambda model: word(model).casefold()):
        meaning = "" if (model.__doc__ or "").startswith(f"{model.__name__}(") else first_sentence(model.__doc__)
        yield _row(word(model), meaning, f"`{model._meta.app_label}.{model.__name__}`")
    yield ""


def _report() -> Iterator[str]:
    from methods.verdicts import MARK_GLYPHS, RANGE_WORDS, VERDICT_WORDS, Levels
    from methods.wording.report import meanings

    yield "## Verdicts and words of the report\n"
    yield from _table("word", "what the report says of it")
    glyphs = {words: f"{MARK_GLYPHS[mark]} " for mark, words in (*VERDICT_WORDS.items(), *RANGE_WORDS.items())}
    for term, meaning in meanings(Levels()).items():
        yield _row(glyphs.get(term, "") + term, meaning)
    yield ""


def _flags() -> Iterator[str]:
    from methods.quantities.flags import EXCLUDES, WORDS

    yield "## Flags\n"
    yield from _table("what is said against a reading", "leaves it out of means")
    for flag, words in WORDS.items():
        yield _row(words, "yes" if flag & EXCLUDES else "no")
    yield ""


def _choices() -> Iterator[str]:
    from django.apps import apps

    from campaigns.naming import word

    yield "## Choices\n"
    yield from _table("of", "choices")
    found = {
        f"{word(model)}: {field.verbose_name}": "; ".join(str(label) for _, label in field.flatchoices)
        for label in APPS
        for model in apps.get_app_config(label).get_models()
        for field in model._meta.fields
        if 0 < len(field.flatchoices) <= MOST_CHOICES
    }
    for of, choices in sorted(found.items(), key=lambda pair: pair[0].casefold()):
        yield _row(of, choices)
    yield ""


def _substances() -> Iterator[str]:
    from methods.quantities.substances import SUBSTANCES

    yield "## What can be measured\n"
    yield from _table("name", "formula or symbol", "CAS number", "units")
    for substance in sorted(SUBSTANCES.values(), key=lambda substance: substance.name.casefold()):
        sign = substance.formula or substance.symbol
        yield _row(substance.name, sign, substance.cas or "–", ", ".join(substance.units))
    yield ""


def _reasons() -> Iterator[str]:
    from methods.limits.reasons import REASONS

    yield "## Why a limit may or may not be compared\n"
    yield from _table("code", "reason")
    for code, words in sorted(REASONS.items()):
        yield _row(f"`{code}`", words)
    yield ""


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django

    django.setup()
    PAGE.write_text(glossary(), encoding="utf-8")
