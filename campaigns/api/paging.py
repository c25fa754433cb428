"""Pages that stay put: a page starts after a row, not after a number of rows, so new rows shift nothing."""

from __future__ import annotations

from typing import Any

from rest_framework.exceptions import NotFound, ValidationError
from rest_framework.pagination import Cursor, CursorPagination
from rest_framework.request import Request

from campaigns.api.params import read_key

MOST = 1000
USUAL = 100


def read_page_size(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MOST):
        raise ValueError(f"“{text}” is not a whole number from 1 to {MOST}.")
    return int(text)


class KeyCursor(CursorPagination):
    """Rows in the order of their keys: unique, indexed, and telling nothing of when or how many.

    Every row that is there from start to end of a walk is met exactly once, whatever comes or goes meanwhile.
    """

    ordering: Any = ("key",)
    page_size = USUAL
    page_size_query_param = "page_size"
    max_page_size = MOST
    page_size_query_description = f"Rows a page, 1 to {MOST}."
    cursor_query_description = "Where the page starts: taken from `next` or `previous` of another page."

    def check_position(self, text: str) -> None:
        """ValueError for what cannot be a position in this order."""
        read_key(text)

    def get_page_size(self, request: Request) -> int:
        text = request.query_params.get(self.page_size_query_param)
        if text is None:
            return self.page_size
        try:
            return read_page_size(text)
        except ValueError as error:
            raise ValidationError({self.page_size_query_param: [str(error)]}) from None

    def decode_cursor(self, request: Request) -> Cursor | None:
        try:
            cursor = super().decode_cursor(request)
            if cursor is not None and cursor.position is not None:
                self.check_position(str(cursor.position))
        except (NotFound, ValueError):
            raise ValidationError({self.cursor_query_param: ["Not a cursor of this API. Start without one."]}) from None
        return cursor

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        link = {"type": "string", "format": "uri", "nullable": True}
        return {
            "type": "object",
            "required": ["next", "previous", "results"],
            "properties": {"next": link, "previous": link, "results": schema},
        }


class LineCursor(KeyCursor):
    """Problems of one file in the order of its lines; several on one line are counted through."""

    ordering: Any = ("line", "id")

    def check_position(self, text: str) -> None:
        int(text)
