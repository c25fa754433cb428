"""Query parameters: declared once with how they are read, what they leave and how the OpenAPI document tells them.

What is not declared is refused with its name: a misspelt filter that is passed over gives the wrong rows silently.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import QueryDict
from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import ValidationError
from rest_framework.filters import BaseFilterBackend
from rest_framework.request import Request
from rest_framework.views import APIView

from methods.quantities.moments import OUT_OF_REACH, is_within_reach


@dataclass(frozen=True)
class Filter:
    """read: text to value, ValueError with a message if it is none; condition: the rows that the value leaves."""

    about: str
    read: Callable[[str], Any]
    schema: Mapping[str, Any]
    condition: Callable[[Any], Q] = lambda value: Q()
    required: bool = False


def by_key(path: str, about: str, *, required: bool = False) -> Filter:
    """Rows whose parent at ``path`` has this key. A key of nothing, or of others, leaves no rows."""
    schema = {"type": "string", "format": "uuid"}
    return Filter(about, read_key, schema, lambda key: Q(**{f"{path}__key": key}), required)


def by_choice(path: str, choices: Iterable[str], about: str) -> Filter:
    known = tuple(choices)

    def read(text: str) -> str:
        if text not in known:
            raise ValueError(f"“{text}” is none of: {', '.join(known)}.")
        return text

    return Filter(about, read, {"type": "string", "enum": list(known)}, lambda value: Q(**{path: value}))


def by_time(about: str, condition: Callable[[datetime], Q] = lambda moment: Q()) -> Filter:
    return Filter(about, read_time, {"type": "string", "format": "date-time"}, condition)


def read_key(text: str) -> UUID:
    """A key as the API writes it. UUID() alone would also take braces, urn: and hyphens anywhere."""
    try:
        key = UUID(text)
    except ValueError:
        key = None
    if key is None or str(key) != text.lower():
        raise ValueError(f"“{text}” is not a key. A key looks like 6f1c2a9e-0d57-4f3e-8a34-5b1d9c0e7f21.")
    return key


def read_time(text: str) -> datetime:
    """An ISO 8601 time with its offset. A time without one could mean the site's or the reader's."""
    hint = "Write it like 2026-09-15T08:00:00Z; a “+” in an address is sent as %2B."
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(f"“{text}” is not a time. {hint}") from None
    if not is_within_reach(moment):
        raise ValueError(f"“{text}” cannot be meant. {OUT_OF_REACH}")
    if moment.tzinfo is None:
        raise ValueError(f"“{text}” does not say its offset from UTC. {hint}")
    return moment


def read_all(given: QueryDict, filters: Mapping[str, Filter]) -> dict[str, Any]:
    """The values of the declared parameters that were given. Raises ValidationError (400) that names all bad ones."""
    values: dict[str, Any] = {}
    errors: dict[str, list[str]] = {}
    for name, wanted in filters.items():
        if name in given:
            try:
                values[name] = wanted.read(str(given[name]))
            except ValueError as error:
                errors[name] = [str(error)]
        elif wanted.required:
            errors[name] = ["This parameter is needed."]
    if errors:
        raise ValidationError(errors)
    return values


def refuse_unknown(given: QueryDict, known: Iterable[str]) -> None:
    """400 for a parameter that does not exist here, or that is given twice."""
    known = sorted(known)
    errors = {
        name: [f"There is no such parameter here. There are: {', '.join(known)}."]
        for name in given
        if name not in known
    }
    errors |= {name: ["Given more than once."] for name in given if name in known and len(given.getlist(name)) > 1}
    if errors:
        raise ValidationError(errors)


def described(filters: Mapping[str, Filter]) -> list[OpenApiParameter]:
    return [
        OpenApiParameter(name, dict(f.schema), OpenApiParameter.QUERY, required=f.required, description=f.about)
        for name, f in filters.items()
    ]


class DeclaredFilters(BaseFilterBackend):
    """Applies the view's ``filters``."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: APIView) -> QuerySet[Any]:
        filters: Mapping[str, Filter] = getattr(view, "filters", {})
        for name, value in read_all(request.query_params, filters).items():
            queryset = queryset.filter(filters[name].condition(value))
        return queryset

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        filters: Mapping[str, Filter] = getattr(view, "filters", {})
        return [
            {"name": name, "in": "query", "required": f.required, "description": f.about, "schema": dict(f.schema)}
            for name, f in filters.items()
        ]
