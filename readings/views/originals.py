"""The original of an upload, whole or a line of it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.urls import reverse

from campaigns.links import trail
from campaigns.views.pages import RowPage
from readings.models import Upload
from readings.services.original_lines import lines_around
from readings.services.originals import OriginalAltered, OriginalMissing, opened


class UploadOriginal(RowPage):
    """The bytes as they came: for keeping, never for opening in the browser."""

    model = Upload

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse:
        try:
            stored = opened(self.found)
        except OriginalAltered:
            raise
        except OriginalMissing as error:  # restored without its files; the page of the upload says so
            raise Http404 from error
        return FileResponse(
            stored,
            as_attachment=True,
            filename=self.found.filename,
            content_type="application/octet-stream",
        )


class UploadLine(RowPage):
    """One line of the original with its neighbours: where a number in a report ends up."""

    template_name = "readings/line.html"
    model = Upload
    related: ClassVar[tuple[str, ...]] = ("campaign__site", "instrument")

    def get(self, request: HttpRequest, line: int, **kwargs: Any) -> HttpResponse:
        upload = self.found
        around = lines_around(upload, line, before=4, after=4)
        if not any(number == line for number, _ in around):
            raise Http404
        return self.show(
            title=f"Line {line}",
            kicker=upload.filename,
            crumbs=[*trail(upload.campaign), (upload.filename, reverse("upload", args=[upload.key]))],
            upload=upload,
            line=line,
            around=around,
        )
