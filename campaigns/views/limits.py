"""Limits: looking through them, one of them, confirming it, and those of the house."""

from __future__ import annotations

from typing import Any, ClassVar
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.access import CONSULTANTS, STAFF
from campaigns.forms.limits import EditionsForm, LimitFilter, OwnLimitForm
from campaigns.links import list_link
from campaigns.models import Limit, LimitCheck
from campaigns.pages import limit as panel
from campaigns.pages import limit_catalogue
from campaigns.pages.limit_wording import checked_text
from campaigns.services.limits_library import confirm_in_each
from campaigns.views.pages import AddOwnPage, DeletePage, EditPage, HistoryPage, Page, RowPage
from methods.quantities.substances import first


class Limits(Page):
    """The limits of one parameter, as a table and on one axis."""

    template_name = "campaigns/limits.html"

    def get(self, request: HttpRequest) -> HttpResponse:
        form = LimitFilter(request.GET or None)
        wanted = form.chosen(first()) if form.is_bound else LimitFilter({}).chosen(first())
        sort = request.GET.get("sort", "time")
        entries_found = limit_catalogue.look(self.person, wanted)
        unit = limit_catalogue.axis_unit(entries_found)
        entries = limit_catalogue.ordered(limit_catalogue.placed(entries_found, unit), sort)
        query = "&" + urlencode({name: value for name, value in wanted.items() if value})
        checks = access.visible(self.person, LimitCheck).values_list("limit_id", flat=True)
        return self.show(
            title="Limits",
            subtitle="Published values and the time each is averaged over. A value without its time says nothing.",
            form=LimitFilter(initial=wanted),
            count=len(entries),
            unit=unit,
            unplaced=sum(entry.at is None for entry in entries),
            figure=limit_catalogue.figure(entries, unit) if entries else None,
            columns=limit_catalogue.columns(sort, query),
            rows=limit_catalogue.table(entries, checks),
            filtered=bool(wanted["text"] or wanted["population"]),
            actions=self.actions(),
        )

    def actions(self) -> list[dict[str, Any]]:
        if not access.organisations_of(self.person, CONSULTANTS):
            return []
        return [{"label": "Add a limit of your own", "url": reverse("limit-add")}]


class LimitPage(RowPage):
    model = Limit
    template_name = "campaigns/limit.html"
    related: ClassVar[tuple[str, ...]] = ("organisation",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        row = self.found
        limit = row.as_library()
        checks = access.visible(self.person, LimitCheck).filter(limit=row).select_related("by")
        return self.show(
            title=f"{row.parameter_name} {limit.value_text()}",
            kicker="Limit" if row.published else f"Limit of {row.organisation}",
            subtitle=limit.text(),
            crumbs=[list_link(Limit)],
            limit=row,
            facts=panel.facts(limit),
            source=panel.source(limit),
            checked=[checked_text(limit, check) for check in checks],
            needs_check=limit.needs_check,
            form=EditionsForm([row]),
            may_confirm=row.published and bool(access.organisations_of(self.person, CONSULTANTS)),
            campaigns=panel.used_in(self.person, row),
            actions=self.actions(row),
        )

    def actions(self, row: Limit) -> list[dict[str, Any]]:
        links = [{"label": "History", "url": reverse("limit-history", args=[row.key])}]
        if not self.may_change:
            return links
        return [
            {"label": "Change", "url": reverse("limit-edit", args=[row.key])},
            *links,
            {"label": "Delete", "url": reverse("limit-delete", args=[row.key])},
        ]


class LimitCheckPage(RowPage):
    """Somebody has held the limit against its document, and answers for it in every house they plan for."""

    model = Limit
    roles = CONSULTANTS
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not self.found.published:
            raise Http404
        form = EditionsForm([self.found], request.POST)
        if not form.is_valid():
            told = " ".join(str(words) for errors in form.errors.values() for words in errors)
            messages.error(request, f"Nothing was noted. {told}")
            return redirect("limit", key=self.found.key)
        edition, page = next(((edition, page) for _, edition, page in form.confirmed()), ("", ""))
        houses = access.organisations_of(self.person, CONSULTANTS)
        confirm_in_each(self.found, houses, self.person, edition=edition, page=page)
        messages.success(request, "Noted: you have checked this limit against its document.")
        return redirect("limit", key=self.found.key)


class LimitAdd(AddOwnPage):
    model, form_class = Limit, OwnLimitForm
    thing = "limit of your own"


class LimitEdit(EditPage):
    model, form_class = Limit, OwnLimitForm


class LimitDelete(DeletePage):
    model = Limit


class LimitHistory(HistoryPage):
    model = Limit
    roles = STAFF
