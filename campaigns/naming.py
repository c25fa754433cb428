"""What models are called on pages: one word per thing, singular and plural."""

from __future__ import annotations

from django.db.models import Model

from campaigns import models as m

#: Where the trade says it differently from the class name.
WORDS: dict[type[Model], tuple[str, str]] = {
    m.ChannelSpec: ("channel", "channels"),
    m.Membership: ("person", "people"),
    m.ApiToken: ("API token", "API tokens"),
}


def word(model: type[Model]) -> str:
    return WORDS[model][0] if model in WORDS else str(model._meta.verbose_name)


def words(model: type[Model], count: int) -> str:
    """The word for ``count`` of them, without the number."""
    if count == 1:
        return word(model)
    return WORDS[model][1] if model in WORDS else str(model._meta.verbose_name_plural)


def capital(text: str) -> str:
    """The text with a capital first letter and the rest left alone ("API token" stays)."""
    return text[:1].upper() + text[1:]
