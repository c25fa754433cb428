"""Uploads: which files came, what was understood of them, and what was wrong at which line."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from campaigns import access
from campaigns.api.base import ReadOnly, RowSerializer, key_of
from campaigns.api.paging import LineCursor
from campaigns.api.params import by_choice, by_key
from campaigns.models import TokenScope
from methods.quantities.moments import stamp_text
from readings.models import Problem, Upload


class UploadSerializer(RowSerializer[Upload]):
    campaign = key_of("campaign")
    instrument = key_of("instrument", allow_null=True, help_text="Empty until the instrument is known.")
    archive = key_of("archive", allow_null=True, help_text="The upload of the archive that it came in.")
    received_at = serializers.DateTimeField(source="created_at", read_only=True)
    first_stamp = serializers.SerializerMethodField(help_text="On the logger's own clock.")
    last_stamp = serializers.SerializerMethodField(help_text="On the logger's own clock.")

    class Meta:
        model = Upload
        fields = (
            "key", "campaign", "instrument", "archive", "member", "filename", "size", "sha256", "received_at", "state",
            "lines", "stored", "held", "problem_count", "first_stamp", "last_stamp",
        )  # fmt: skip

    def get_first_stamp(self, upload: Upload) -> str | None:
        return None if upload.first_stamp_ms is None else stamp_text(upload.first_stamp_ms)

    def get_last_stamp(self, upload: Upload) -> str | None:
        return None if upload.last_stamp_ms is None else stamp_text(upload.last_stamp_ms)


class ProblemSerializer(RowSerializer[Problem]):
    class Meta:
        model = Problem
        fields = ("line", "column", "value", "code", "message")


class UploadViewSet(ReadOnly[Upload]):
    """Uploads: one original log file each, known by its SHA-256."""

    model = Upload
    scope = TokenScope.CAMPAIGNS
    serializer_class = UploadSerializer
    related = ("campaign", "instrument", "archive")
    filters = {
        "campaign": by_key("campaign", "Uploads to this campaign."),
        "instrument": by_key("instrument", "Uploads from this instrument."),
        "state": by_choice("state", Upload.State.values, "Uploads in this state."),
    }

    @extend_schema(operation_id="uploads_problems_list", responses=ProblemSerializer(many=True))
    @action(detail=True, pagination_class=LineCursor, filter_backends=[], serializer_class=ProblemSerializer)
    def problems(self, request: Request, key: str) -> Response:
        """What was wrong with the file, line by line: the first ones; `problem_count` says of how many."""
        rows: Any = access.visible(request.auth, Problem).filter(upload=self.get_object())
        page: Any = self.paginate_queryset(rows)
        return self.get_paginated_response(ProblemSerializer(page, many=True).data)

    def known_parameters(self) -> set[str]:
        return {"cursor", "page_size"} if self.action == "problems" else super().known_parameters()
