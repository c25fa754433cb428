"""A program that uses the API, and holds every answer against the published OpenAPI document."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any
from urllib.parse import urlsplit

from django.db import connection
from django.http import HttpResponseBase
from django.test import Client
from django.urls import resolve

from campaigns.models import ApiToken, Organisation, TokenScope

ROOT = "/api/v1/"


@cache
def document() -> dict[str, Any]:
    """The OpenAPI document, made once for all tests."""
    from drf_spectacular.generators import SchemaGenerator

    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    return made


def check_against_document(path: str, body: Any) -> None:
    """Raises where ``body`` is not what the document says about a 200 of ``path``."""
    from openapi_schema_validator import OAS30Validator, oas30_format_checker

    kwargs = resolve(path).kwargs
    template = path
    for name, value in kwargs.items():
        template = template.replace(str(value), "{" + name + "}")
    content = document()["paths"][template]["get"]["responses"]["200"]["content"]
    schema = {**content["application/json"]["schema"], "components": document()["components"]}
    OAS30Validator(schema, format_checker=oas30_format_checker).validate(body)


def token_for(organisation: Organisation, scopes: Any = tuple(TokenScope), **more: Any) -> tuple[ApiToken, str]:
    token = ApiToken(organisation=organisation, name="a program", scopes=list(scopes), **more)
    secret = token.new_secret()
    token.save()
    return token, secret


@contextmanager
def counted() -> Iterator[list[str]]:
    """The statements sent meanwhile. Unlike Django's own way this leaves the cursors as they are in production."""
    seen: list[str] = []

    def note(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        seen.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield seen


class Program:
    """Sends one token's secret, or none."""

    def __init__(self, secret: str | None) -> None:
        self.client = Client(headers={"Authorization": f"Bearer {secret}"} if secret else {})

    def ask(self, path: str, **params: Any) -> Any:
        """The response to GET /api/v1/``path``."""
        return self.client.get(ROOT + path, params)

    def body(self, path: str, **params: Any) -> Any:
        """The JSON of a 200 that keeps to the document."""
        response = self.ask(path, **params)
        assert response.status_code == 200, response.content
        body = response.json()
        check_against_document(ROOT + path, body)
        return body

    def rows(self, path: str, **params: Any) -> list[Any]:
        """The rows of the first page."""
        found: list[Any] = self.body(path, **params)["results"]
        return found

    def keys(self, path: str, **params: Any) -> set[str]:
        return {row["key"] for row in self.rows(path, **params)}

    def follow(self, link: str) -> Any:
        """The JSON behind a ``next`` or ``previous`` link."""
        parts = urlsplit(link)
        response = self.client.get(f"{parts.path}?{parts.query}")
        assert response.status_code == 200, response.content
        body = response.json()
        check_against_document(parts.path, body)
        return body


def text_of(response: HttpResponseBase) -> str:
    """A streamed answer as one text."""
    assert response.streaming
    return b"".join(response).decode()
