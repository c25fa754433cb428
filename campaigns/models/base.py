"""What every record has: a key for URLs that cannot be guessed or counted, and the time it was made."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import models

from methods.wording.plain_text import refusal


class Record(models.Model):
    """Base of all models that people see.

    The integer id stays inside the database (small keys for millions of readings); URLs and the API show ``key``,
    so that nobody learns from an address how many sites another organisation has.
    """

    #: Name of the route of the list at which trails to such a row start; None: the row lies in another.
    list_route: ClassVar[str | None] = None
    #: Name of the route of the row's own page; None: it is a place on the page of what it lies in.
    page_route: ClassVar[str | None] = None
    #: How routes to its forms begin; empty: by what the model is called.
    route_word: ClassVar[str] = ""
    #: The foreign key to the row it lies in.
    lies_in_field: ClassVar[str | None] = None

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    created_at = models.DateTimeField(auto_now_add=True, editable=False)

    class Meta:
        abstract = True

    def clean_fields(self, exclude: Collection[str] | None = None) -> None:
        """As Django does, and text holds nothing that cannot be seen, wherever it comes from."""
        found: dict[str, list[ValidationError]] = {}
        try:
            super().clean_fields(exclude=exclude)
        except ValidationError as refused:
            found = refused.update_error_dict({})
        for field in self._meta.concrete_fields:
            if isinstance(field, models.CharField | models.TextField) and field.name not in {*found, *(exclude or ())}:
                one_line = isinstance(field, models.CharField)
                if why := refusal(str(getattr(self, field.attname) or ""), one_line=one_line):
                    found[field.name] = [ValidationError(why, code="unseen")]
        if found:
            raise ValidationError(found)

    @property
    def lies_in(self) -> Any:
        """The row that this one is part of; None at the top."""
        return getattr(self, self.lies_in_field) if self.lies_in_field else None
