"""What a released report rests on and was changed since it was signed: the report keeps what it froze, and says so."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.urls import reverse

from campaigns import access
from campaigns.models import User
from methods.quantities.moments import stamp_text
from readings.models import SettingAside, Upload
from reports.content.record import ReportedFile
from reports.models import Report
from reports.services.result_cells import moment_text


@dataclass(frozen=True)
class ChangedSince:
    """words: what was done, when and why. url: where it is told."""

    name: str
    words: str
    url: str


def changed_since(report: Report, files: tuple[ReportedFile, ...], person: User) -> list[ChangedSince]:
    """Files of the report that were withdrawn or read anew after it was signed, and stretches of its logs that were
    set aside or taken back. Empty for people of a client: theirs is what was signed."""
    rows = access.visible(person, SettingAside)
    return [*_files(report, files, rows), *_stretches(report, rows)]


def _files(report: Report, files: tuple[ReportedFile, ...], rows: QuerySet[SettingAside]) -> Iterator[ChangedSince]:
    """By SHA-256 and serial number, as the report names them: the same bytes may be another instrument's, too."""
    named = {(file.sha256, file.serial) for file in files}
    own = rows.filter(organisation__sites__campaigns=report.campaign_id, created_at__gt=report.signed_at)
    own = own.filter(upload__sha256__in={sha256 for sha256, _ in named}).order_by("pk")
    for row in own.select_related("upload__instrument").prefetch_related("upload__read_anew_as"):
        upload = row.upload
        assert upload is not None
        if (upload.sha256, upload.instrument.serial if upload.instrument else "") in named:
            done = "read anew" if upload.read_anew_as.all() else "withdrawn"
            words = f"was {done} on {_when(report, row.created_at)}: {row.reason}"
            yield ChangedSince(upload.filename, words, reverse("upload", args=[upload.key]))


def _stretches(report: Report, rows: QuerySet[SettingAside]) -> Iterator[ChangedSince]:
    """Those that lie in a log of the campaign; each leads to the page of one of them."""
    logs = Upload.objects.filter(campaign=report.campaign_id, instrument=OuterRef("channel__instrument"))
    logs = logs.exclude(state=Upload.State.WITHDRAWN).order_by("pk")
    logs = logs.filter(first_stamp_ms__lte=OuterRef("last_stamp_ms"), last_stamp_ms__gte=OuterRef("first_stamp_ms"))
    made = Q(created_at__gt=report.signed_at, taken_back_at=None)
    back = Q(created_at__lte=report.signed_at, taken_back_at__gt=report.signed_at)
    found = rows.filter(made | back).annotate(log=Subquery(logs.values("key")[:1])).filter(log__isnull=False)
    for row in found.select_related("channel__instrument", "channel__spec").order_by("pk"):
        assert row.channel is not None
        done, when = ("set aside", row.created_at) if row.taken_back_at is None else ("taken back", row.taken_back_at)
        span = f"{stamp_text(row.first_stamp_ms or 0)} to {stamp_text(row.last_stamp_ms or 0)}"
        words = f"readings from {span}, as the logger shows it, were {done} on {_when(report, when)}: {row.reason}"
        yield ChangedSince(
            f"{row.channel.instrument}, {row.channel.spec}", words, reverse("upload-aside", args=[row.log])
        )


def _when(report: Report, moment: datetime) -> str:
    return moment_text(moment, report.campaign.site.zone_info)
