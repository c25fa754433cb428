"""Background work: what runs, what ended, and what somebody must look at."""

from __future__ import annotations

from urllib.parse import urlencode, urlsplit
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django_htmx.middleware import HtmxDetails

from campaigns import access, job_subjects
from campaigns.enqueue import ask_again
from campaigns.models import Job
from campaigns.pages.jobs import rows_of
from campaigns.urgent import urgent_for
from campaigns.views.pages import Page, PolledPage, RowPage

PAGE_SIZE = 50
OPEN = ~Q(state__in=Job.ENDED) | Q(state__in=Job.TO_LOOK_AT, acknowledged_at__isnull=True)
FILTERS: dict[str, tuple[str, Q]] = {
    "": ("All", Q()),
    "open": ("Open", OPEN),
    "ended": ("Ended", ~OPEN),
}


def wanted_in(asked: QueryDict) -> str:
    wanted = asked.get("show", "")
    return wanted if wanted in FILTERS else ""


def query_of(asked: QueryDict) -> str:
    """That part of a query which says which list it is, and which page of it: nothing else is led back to."""
    page = asked.get("page", "")
    kept = {"show": wanted_in(asked), "page": page if page.isdecimal() else ""}
    query = urlencode({name: value for name, value in kept.items() if value})
    return f"?{query}" if query else ""


class Jobs(Page):
    template_name = "campaigns/jobs.html"

    def get(self, request: HttpRequest) -> HttpResponse:
        wanted = wanted_in(request.GET)
        jobs: QuerySet[Job] = access.visible(self.person, Job).filter(FILTERS[wanted][1]).select_related("owner")
        page = Paginator(jobs, PAGE_SIZE).get_page(request.GET.get("page"))
        return self.show(
            title="Work",
            subtitle="What Fanlight does in the background: reading logs, judging, setting reports.",
            options=[(label, f"?show={name}" if name else "?", name == wanted) for name, (label, _) in FILTERS.items()],
            rows=rows_of(list(page), query_of(request.GET)),
            page_obj=page,
            page_query=f"&show={wanted}" if wanted else "",
            wanted=wanted,
            urgent=urgent_for(self.person) if page.number == 1 and wanted != "ended" else [],
        )


class JobRow(PolledPage):
    """One row of the list, which replaces itself until the job has ended."""

    model = Job
    related = ("owner",)
    template_name = "campaigns/job_row.html"

    def get(self, request: HttpRequest, key: UUID) -> HttpResponse:
        htmx: HtmxDetails = request.htmx  # type: ignore[attr-defined]
        asked_by = QueryDict(urlsplit(htmx.current_url_abs_path or "").query)
        return self.show(**rows_of([self.found], query_of(asked_by))[0])


class JobAgain(RowPage):
    """Work that failed for a reason of ours is asked for once more, from the list or from the page of its subject."""

    model = Job
    act = "change"
    http_method_names = ["post"]

    def post(self, request: HttpRequest, key: UUID) -> HttpResponse:
        try:
            ask_again(self.found, self.person)
        except ValidationError as error:
            messages.warning(request, " ".join(error.messages))
        subject = job_subjects.titles([self.found])[self.found.pk]
        if request.GET.get("from") == "subject" and subject.url:
            return redirect(subject.url)
        return redirect(reverse("jobs") + query_of(request.GET))


class JobAcknowledge(RowPage):
    """Somebody has seen how it ended."""

    model = Job
    act = "change"
    http_method_names = ["post"]

    def post(self, request: HttpRequest, key: UUID) -> HttpResponse:
        self.found.acknowledge()
        return redirect(reverse("jobs") + query_of(request.GET))
