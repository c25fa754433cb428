"""Uploads and readings as pages print them."""

from __future__ import annotations

from typing import Any

from django import template
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import SafeString

from campaigns.models import Job
from campaigns.services.workers import NO_WORKER
from methods.logs.layouts.layout_wording import column_words, file_words
from methods.logs.types import Column, ColumnRole, Layout
from methods.quantities.moments import stamp_text
from readings.models import Upload

register = template.Library()

#: How often a row asks again: quickly while something is being read, slowly while it only waits.
RUNNING_EVERY, QUEUED_EVERY = "1s", "3s"


@register.simple_tag
def upload_row(upload: Upload, jobs: dict[int, Job]) -> SafeString:
    return render_row(upload, jobs.get(upload.pk))


def render_row(upload: Upload, job: Job | None) -> SafeString:
    """One upload as a job row, polling while its job is under way."""
    return render_to_string(
        "parts/job.html",
        {
            "job": as_job(upload, job),
            "poll_url": reverse("upload-row", args=[upload.key]),
            "poll_every": RUNNING_EVERY if job and job.state == Job.State.RUNNING else QUEUED_EVERY,
        },
    )


def as_job(upload: Upload, job: Job | None) -> dict[str, Any]:
    state = job.state if job else "done"
    message = job.message if job else ""
    if job and job.unattended:
        message = NO_WORKER
    if upload.state == Upload.State.ATTENTION and state == Job.State.DONE:  # its clock or its visits changed since
        state, message = Job.State.ATTENTION.value, "Read. Where it lies in time is to be decided."
    if upload.withdrawn:
        state, message = Upload.State.WITHDRAWN.value, "Nothing of it counts."
    counts = f"{upload.size / 1e6:.1f} MB" if upload.size >= 1e6 else f"{upload.size / 1e3:.0f} kB"
    if job and job.state == Job.State.RUNNING and job.total:
        counts = f"{100 * job.done // job.total} % of {counts}"
    elif upload.instrument:
        counts = f"{upload.instrument} · {counts}"
    if upload.archive is not None:
        counts = f"{counts} · {upload.archive.filename}: {upload.member}"
    return {
        "id": f"upload-{upload.pk}",
        "state": state,
        "title": upload.filename,
        "url": reverse("upload", args=[upload.key]),
        "done": job.done if job else 0,
        "total": job.total if job else 0,
        "counts": counts,
        "message": message,
        "action_label": {"attention": "Decide", "failed": "See why"}.get(state, ""),
    }


@register.filter
def stamp(ms: int) -> str:
    """A logger's stamp as people write it."""
    return stamp_text(ms)


@register.filter
def file_as_words(layout: dict[str, Any]) -> str:
    """What kind of file it is."""
    return file_words(Layout.from_json(layout))


@register.filter
def column_role(column: dict[str, Any]) -> str:
    """What was made of a column of the layout, which pages have as JSON."""
    return column_words(Column(**{**column, "role": ColumnRole(column["role"])}))
