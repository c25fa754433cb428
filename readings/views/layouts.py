"""Layouts that are kept for the next files, and when somebody looks first."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access, history
from campaigns.access import CONSULTANTS
from campaigns.links import deeds, list_link
from campaigns.models import Organisation
from campaigns.views import row_wording
from campaigns.views.pages import DeletePage, EditPage, FormPage, HistoryPage, ListPage
from methods.quantities.stamp_convention import StampConvention
from readings.forms.saved_layouts import LookFirstForm, SavedLayoutForm
from readings.models import LookFirst, SavedLayout

#: Fields of a layout that the history tells in words already.
IN_WORDS = {"Content", "Seen", "Shape key"}


class Layouts(ListPage):
    """What was kept about files of each shape."""

    template_name = "readings/layouts.html"
    model = SavedLayout
    title = "Layouts"
    caption = "How files of one shape are read, without asking again."
    columns = [{"label": "Layout"}, {"label": "What it makes of a file"}, {"label": "Kept"}]
    empty = (
        "No layouts yet",
        "When a log is unlike those before it, Fanlight shows how it would be read. Keep what you confirm there, and "
        "the next file of the same shape is read without a question.",
    )

    def rows(self) -> Any:
        return super().rows().select_related("made_by")

    def cells(self, row: Any) -> list[Any]:
        return [
            {"text": row.name, "url": reverse("layout-edit", args=[row.key])},
            f"{row.reads}; a stored value is {StampConvention(row.represents).clause}" if row.represents else row.reads,
            f"{row.created_at:%Y-%m-%d} by {row.made_by or 'somebody who has left'}",
        ]

    def actions(self) -> list[dict[str, Any]]:
        return []  # a layout is made from a file, on the page of that file

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        planning = access.organisations_of(self.person, CONSULTANTS)
        mine = access.visible(self.person, Organisation).order_by("name")
        rules = [
            {
                "organisation": organisation,
                "rule": LookFirst.When(LookFirst.rule_of(organisation.pk)).label,
                "may_change": organisation.pk in planning,
            }
            for organisation in mine
        ]
        return super().get_context_data(rules=rules, **kwargs)


class LayoutEdit(EditPage):
    model, form_class = SavedLayout, SavedLayoutForm

    def heading(self, row: Any) -> dict[str, Any]:
        return {**super().heading(row), "kicker": "Change layout", "note": row.reads}

    def actions(self, row: Any) -> list[dict[str, Any]]:
        return deeds(row, "history", *["delete"] * self.may_remove)


class LayoutDelete(DeletePage):
    model = SavedLayout
    kept = "Files that were read with it stay as they are. The next file of this shape is asked about again."
    word = " What a stored value of those files is, the type of their instrument says again."

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        kept = f"{self.kept}{self.word}" if self.found.represents else self.kept
        return super().get_context_data(**{**kwargs, "kept": kept})


class LayoutHistory(HistoryPage):
    model = SavedLayout

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        entries = row_wording.entries(self.found, history.of(self.found))
        for entry in entries:
            entry["changes"] = [change for change in entry["changes"] if change[0] not in IN_WORDS]
        return self.show(title=str(self.found), kicker="History of layout", crumbs=self.crumbs(), entries=entries)


class LookFirstPage(FormPage):
    """When people of an organisation look at a file before anything of it is stored."""

    roles = CONSULTANTS
    form_class = LookFirstForm

    @cached_property
    def organisation(self) -> Organisation:
        organisation = access.find(self.person, Organisation, self.kwargs["key"])
        if not access.may_add(self.person, LookFirst, organisation.pk):
            raise Http404
        return organisation

    def row(self) -> LookFirst:
        held = LookFirst.objects.filter(organisation=self.organisation).first()
        return held or LookFirst(organisation=self.organisation)

    def heading(self, row: Any) -> dict[str, Any]:
        return {
            "title": "Looking first",
            "kicker": str(self.organisation),
            "crumbs": [list_link(SavedLayout)],
            "cancel_url": reverse("layouts"),
            "note": "A file about whose layout something has to be asked always waits for an answer. A file of a shape "
            "that is kept as a layout never waits to be looked at.",
        }

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, "Saved. It holds for files that are handed in from now on.")
        return redirect(reverse("layouts"))
