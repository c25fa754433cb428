"""Readings as pages of JSON or as one stream of CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.http import HttpResponseBase, StreamingHttpResponse
from django.utils.http import content_disposition_header
from django.utils.text import slugify
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from campaigns.api.base import Strict
from campaigns.api.paging import MOST, USUAL, read_page_size
from campaigns.api.params import Filter, described, read_all
from campaigns.models import TokenScope
from campaigns.models.parameters import parameter_choices, unit_choices
from readings.api.ask import FILTERS, Ask, read
from readings.api.rows import HEADER, UploadKeys, csv_blocks, records
from readings.api.walk import ReadingTable, WalkPosition, tables

COUNT = {"type": "integer", "minimum": 1, "maximum": MOST, "default": USUAL}
PAGING = {
    "cursor": Filter(
        "Where the page starts: taken from `next` of another page.", WalkPosition.from_text, {"type": "string"}
    ),
    "page_size": Filter(f"Readings a page, 1 to {MOST}.", read_page_size, COUNT),
}


class ReadingSerializer(serializers.Serializer[Any]):
    """One reading: when and where, as stored and as corrected, what is said against it, and where it was stored."""

    utc = serializers.DateTimeField(help_text="Time of the reading, from the stamp by way of the clock checks.")
    campaign = serializers.UUIDField()
    deployment = serializers.UUIDField()
    point = serializers.UUIDField()
    instrument = serializers.UUIDField()
    instrument_name = serializers.CharField()
    parameter = serializers.ChoiceField(choices=parameter_choices())
    unit = serializers.ChoiceField(choices=unit_choices())
    raw = serializers.FloatField(allow_null=True, help_text="As the logger stored it; empty for an error code.")
    value = serializers.FloatField(allow_null=True, help_text="Corrected by zero, span and calibration.")
    flags = serializers.IntegerField(help_text="Sum of the flags' bits; 0: nothing is said against it.")
    flag_words = serializers.ListField(child=serializers.CharField(), help_text="The flags in words.")
    stamp = serializers.CharField(help_text="On the logger's own clock, as it stored it.")
    nth = serializers.IntegerField(help_text="Tells readings with the same stamp apart, in the order of the memory.")
    upload = serializers.UUIDField(allow_null=True, help_text="The file it came from …")
    line = serializers.IntegerField(help_text="… and the line in it.")


class ReadingPageSerializer(serializers.Serializer[Any]):
    next = serializers.URLField(allow_null=True)
    results = ReadingSerializer(many=True)


class CsvRenderer(BaseRenderer):
    """Names the format to choose; the stream below writes it."""

    media_type = "text/csv"
    format = "csv"

    def render(self, data: Any, accepted_media_type: str | None = None, renderer_context: Any = None) -> bytes:
        raise TypeError("CSV is streamed, not rendered")


class ReadingViewSet(Strict):
    """Readings of a campaign, placed in time and room and corrected.

    JSON comes in pages in the order of instrument, parameter and the logger's own clock. CSV (`format=csv`,
    or `Accept: text/csv`) comes whole and in the same order; a text that a spreadsheet could run stands behind an
    apostrophe.
    """

    scope = TokenScope.READINGS
    renderer_classes = [JSONRenderer, CsvRenderer]

    def known_parameters(self) -> set[str]:
        return set(FILTERS) if self.wants_csv() else {*FILTERS, *PAGING}

    def wants_csv(self) -> bool:
        return isinstance(getattr(self.request, "accepted_renderer", None), CsvRenderer)

    @extend_schema(
        operation_id="readings_list",
        parameters=[
            *described(FILTERS),
            *described(PAGING),
            OpenApiParameter("format", str, enum=["json", "csv"], description="CSV comes whole, without pages."),
        ],
        responses={(200, "application/json"): ReadingPageSerializer, (200, "text/csv"): OpenApiTypes.STR},
    )
    def get(self, request: Request) -> HttpResponseBase:
        token: Any = request.auth  # an ApiToken: HasScope lets nothing else in
        ask = read(request.query_params, token)
        return csv_response(ask) if self.wants_csv() else page_response(request, ask)

    def handle_exception(self, exc: Exception) -> Response:
        response = super().handle_exception(exc)
        # An error is told in JSON, whatever was asked for.
        self.request.accepted_renderer, self.request.accepted_media_type = JSONRenderer(), "application/json"
        return response


def page_response(request: Request, ask: Ask) -> Response:
    values = read_all(request.query_params, PAGING)
    size = values.get("page_size", USUAL)
    parts, more = page(ask, values.get("cursor"), size)
    uploads = UploadKeys(ask.token)
    link = None
    if more:
        place = parts[-1].place(-1)
        link = replace_query_param(request.build_absolute_uri(), "cursor", place.to_text())
    return Response({"next": link, "results": [row for part in parts for row in records(part, ask, uploads)]})


def page(ask: Ask, after: WalkPosition | None, size: int) -> tuple[list[ReadingTable], bool]:
    """The next ``size`` readings, and whether more follow."""
    parts: list[ReadingTable] = []
    room = size
    for table in tables(ask, after):
        if not room:
            return parts, True
        parts.append(table.rows(slice(0, room)))
        if len(table) > room:
            return parts, True
        room -= len(table)
    return parts, False


def csv_response(ask: Ask) -> StreamingHttpResponse:
    """One channel is in memory at a time, whatever the length of the campaign."""
    name = slugify(ask.campaign.name)[:60] or str(ask.campaign.key)
    response = StreamingHttpResponse(_csv(ask), content_type="text/csv; charset=utf-8; header=present")
    response["Content-Disposition"] = content_disposition_header(True, f"readings-{name}.csv") or "attachment"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _csv(ask: Ask) -> Iterator[str]:
    uploads = UploadKeys(ask.token)
    yield HEADER
    for table in tables(ask):
        yield from csv_blocks(table, ask, uploads)
