"""Background work: what runs, what ended, and what somebody must look at."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect

from campaigns import access
from campaigns.models import Job
from campaigns.pages.jobs import rows_of
from campaigns.views.pages import Page, RowPage

PAGE_SIZE = 50
OPEN = ~Q(state__in=Job.ENDED) | Q(state__in=Job.TO_LOOK_AT, acknowledged_at__isnull=True)
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
