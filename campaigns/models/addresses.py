"""One spelling of an e-mail address, so that one address is one, whichever database compares."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING, Any

from django.db import models

if TYPE_CHECKING:
    TextOfAddress = models.EmailField[str, str]
else:
    TextOfAddress = models.EmailField


def normal_address(text: str) -> str:
    """The address in NFKC with case folded: "ſam@…" and "SAM@…" are "sam@…" (Unicode standard annex 15 and section
    3.13; that both halves are folded is common practice, no source)."""
    folded = unicodedata.normalize("NFKC", text.strip()).casefold()
    return unicodedata.normalize("NFKC", folded)


class AddressField(TextOfAddress):
    """Kept, and looked for, in its normal spelling."""

    def to_python(self, value: Any) -> Any:
        value = super().to_python(value)
        return normal_address(value) if isinstance(value, str) else value

    def get_prep_value(self, value: Any) -> Any:
        value = super().get_prep_value(value)
        return normal_address(value) if isinstance(value, str) else value
