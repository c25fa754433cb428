"""How words of headers are held against each other: without case, accents and marks between them."""

from __future__ import annotations

import re
import unicodedata

_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z][a-z])|(?<=[a-z])(?=[A-Z])")
_TOKEN = re.compile(r"[^\W_]+", re.UNICODE)
#: So many words of a header are looked up together.
LONGEST_NAME = 4


def fold(text: str) -> str:
    """Compatibility forms made plain (CO₂ → co2), accents dropped, case folded."""
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text))
    return "".join(c for c in plain if not unicodedata.combining(c)).casefold()


def tokens(text: str) -> list[str]:
    """The words of ``text``, folded; "hchoPpm" has two."""
    return _TOKEN.findall(fold(_CAMEL.sub(" ", text)))


def joined(text: str) -> str:
    """Its words without what is between them: what makes two of them equal."""
    return "".join(_TOKEN.findall(fold(text)))
