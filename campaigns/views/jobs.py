"""Background work: what runs, what ended, and what somebody must look at."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access, job_subjects
from campaigns.models import Job
from campaigns.views.pages import Page, RowPage

PAGE_SIZE = 50
#: How often a row asks again: often while it moves, seldom while it only waits.
POLL_RUNNING, POLL_QUEUED = "2s", "10s"
NEEDS_A_LOOK = (Job.State.ATTENTION, Job.State.FAILED)
OPEN = ~Q(state__in=Job.ENDED) | Q(state__in=NEEDS_A_LOOK, acknowledged_at__isnull=True)
FILTERS: dict[str, tuple[str, Q]] = {
    "": ("All", Q()),
    "open": ("Open", OPEN),
    "ended": ("Ended", ~OPEN),
}


class Jobs(Page):
    template_name = "campaigns/jobs.html"

    def get(self, request: HttpRequest) -> HttpResponse:
        wanted = request.GET.get("show", "")
        wanted = wanted if wanted in FILTERS else ""
        jobs: QuerySet[Job] = access.visible(self.person, Job).filter(FILTERS[wanted][1]).select_related("owner")
        page = Paginator(jobs, PAGE_SIZE).get_page(request.GET.get("page"))
        return self.show(
            title="Work",
            subtitle="What Fanlight does in the background: reading logs, judging, setting reports.",
            options=[(label, f"?show={name}" if name else "?", name == wanted) for name, (label, _) in FILTERS.items()],
            rows=rows_of(list(page)),
            page_obj=page,
            page_query=f"&show={wanted}" if wanted else "",
            wanted=wanted,
        )


class JobRow(RowPage):
    """One row of the list, which replaces itself until the job has ended."""

    model = Job
    related = ("owner",)
    template_name = "campaigns/job_row.html"

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.headers.get("HX-Request") and not request.user.is_authenticated:
            # The login has ended while the page stood open: load it anew instead of a login form in a row.
            return HttpResponse(headers={"HX-Refresh": "true"})
        return super().dispatch(request, *args, **kwargs)

    def get(self, request: HttpRequest, key: UUID) -> HttpResponse:
        return self.show(**rows_of([self.found])[0])


class JobAcknowledge(RowPage):
    """Somebody has seen how it ended."""

    model = Job
    act = "change"
    http_method_names = ["post"]

    def post(self, request: HttpRequest, key: UUID) -> HttpResponse:
        self.found.acknowledge()
        return redirect("jobs")


def rows_of(jobs: list[Job]) -> list[dict[str, Any]]:
    """What ``campaigns/job_row.html`` needs, for each job."""
    subjects = job_subjects.titles(jobs)
    return [row_of(job, subjects[job.pk]) for job in jobs]


def row_of(job: Job, subject: job_subjects.Subject) -> dict[str, Any]:
    look = job.state in NEEDS_A_LOOK and job.acknowledged_at is None
    labels = {Job.State.ATTENTION.value: "Decide", Job.State.FAILED.value: "See why"}
    return {
        "job": {
            "id": str(job.key),
            "state": job.state,
            "title": subject.name,
            "url": subject.url,
            "done": job.done,
            "total": job.total,
            "counts": _counts(job),
            "message": job.message,
            "when": _when(job),
            "action_label": labels.get(job.state, "") if look else "",
        },
        "poll_url": reverse("job-row", args=[job.key]),
        "poll_every": POLL_RUNNING if job.state == Job.State.RUNNING else POLL_QUEUED,
        "acknowledge_url": reverse("job-acknowledge", args=[job.key]) if look else "",
    }


def _counts(job: Job) -> str:
    if not job.total or job.state != Job.State.RUNNING:
        return ""
    return f"{job.done:,} of {job.total:,} {job.unit}".strip()


def _when(job: Job) -> str:
    parts = [f"asked for {job.created_at:%Y-%m-%d %H:%M} UTC"]
    if job.owner:
        parts[0] += f" by {job.owner}"
    if job.attempts > 1:
        parts.append(f"tried {job.attempts} times")
    if job.ended_at:
        parts.append(f"ended {job.ended_at:%Y-%m-%d %H:%M} UTC")
    if job.acknowledged_at:
        parts.append("seen")
    return ", ".join(parts)
