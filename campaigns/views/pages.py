"""The kinds of page there are. A view says which rows and which form; what may be seen is asked of the door.

A stranger, and a member whose role may not do it, get 404: what one may not do does not exist.
"""

from __future__ import annotations

import logging
from collections.abc import Sequence
from functools import cached_property
from typing import Any, ClassVar

from django.contrib import messages
from django.contrib.auth.mixins import LoginRequiredMixin
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Model
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.views.generic.base import ContextMixin, TemplateResponseMixin, View

from campaigns import access, history
from campaigns.access import STAFF
from campaigns.forms.base import RowForm
from campaigns.links import Link, address, deeds, list_link, route_word, trail, trail_above
from campaigns.models import Record, Role, User
from campaigns.naming import capital, word
from campaigns.services.digests import NotAsStored
from campaigns.services.ownership import organisation_id_of
from campaigns.services.removal import Removal, remove, weigh
from campaigns.views import row_wording

log = logging.getLogger(__name__)


class Page(LoginRequiredMixin, TemplateResponseMixin, ContextMixin, View):
    """A page for people who work here: everyone else is asked to log in, or told that there is nothing."""

    roles: ClassVar[frozenset[Role]] = STAFF

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.user.is_authenticated and not access.organisations_of(request.user, self.roles):
            raise Http404
        try:
            return super().dispatch(request, *args, **kwargs)
        except NotAsStored as found:
            return self.refuse(found)

    def refuse(self, found: NotAsStored) -> HttpResponse:
        """Something kept is not what its digest says: the fault of this server (500), and its operator's to see."""
        log.error("%s", found.log)
        self.template_name = "campaigns/not_as_stored.html"
        return self.show(status=500, title="Not what was stored", words=str(found))

    @property
    def person(self) -> User:
        assert isinstance(self.request.user, User)  # LoginRequiredMixin let it through
        return self.request.user

    def show(self, status: int = 200, **context: Any) -> HttpResponse:
        return self.render_to_response(self.get_context_data(**context), status=status)


class ListPage(Page):
    """A table of all rows of a model that the person may see."""

    template_name = "campaigns/list.html"
    model: type[Model]
    title = ""
    caption = ""
    columns: ClassVar[list[dict[str, Any]]] = []
    empty: ClassVar[tuple[str, str]] = ("", "")
    page_size = 50

    def get(self, request: HttpRequest) -> HttpResponse:
        order = [str(name) for name in self.model._meta.ordering or ()]
        ordered = self.rows().order_by(*order, "pk")  # counting drops the model's own order
        page = Paginator(ordered, self.page_size).get_page(request.GET.get("page"))
        may = self.actions()
        return self.show(
            title=self.title,
            caption=self.caption,
            columns=self.columns,
            rows=[self.cells(row) for row in page],
            page_obj=page,
            actions=may if page else [],
            empty_actions=may,
            empty_heading=self.empty[0],
            empty_text=self.empty[1],
        )

    def rows(self) -> Any:
        """A query set of what is listed."""
        return access.visible(self.person, self.model)

    def cells(self, row: Any) -> list[Any]:
        raise NotImplementedError

    def actions(self) -> list[dict[str, Any]]:
        if not access.organisations_of(self.person, access.registered()[self.model].add):
            return []
        label = f"Add {word(self.model)}"
        return [{"label": label, "url": reverse(f"{route_word(self.model)}-add"), "primary": True}]


class FormPage(Page):
    """A form and what happens with it."""

    template_name = "campaigns/form.html"
    form_class: type[RowForm[Any]]
    submit_label = "Save"
    cautions: ClassVar[tuple[str, ...]] = ()

    def row(self) -> Any:
        """The row the form is about. Http404 when the person may not."""
        raise NotImplementedError

    def heading(self, row: Any) -> dict[str, Any]:
        """title, kicker, crumbs, cancel_url of the page."""
        raise NotImplementedError

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        row = self.row()
        return self.show_form(row, self.form(row))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        row = self.row()
        heading = self.heading(row)  # before the form writes what was typed into the row
        form = self.form(row, request.POST)
        if form.stored():
            return self.done(form.instance)
        return self.show_form(row, form, status=422, **heading)

    def form(self, row: Any, data: Any = None) -> RowForm[Any]:
        return self.form_class(data, instance=row, person=self.person)

    def show_form(self, row: Any, form: Any, status: int = 200, **heading: Any) -> HttpResponse:
        context = heading or self.heading(row)
        cautions = self.cautions_beside(row)
        return self.show(status=status, form=form, submit_label=self.submit_label, cautions=cautions, **context)

    def cautions_beside(self, row: Any) -> Sequence[str]:
        """What must be said beside the form of ``row``."""
        return self.cautions

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: {word(type(row))} {row_wording.name(row)}.")
        return redirect(address(row))


class AddPage(FormPage):
    """Add a row to another one, which is found by the key in the address."""

    model: type[Record]
    parent: type[Record]
    parent_field: str
    thing = ""  # what is added, if it is not simply the model's word

    @cached_property
    def owner(self) -> Any:
        owner = access.find(self.person, self.parent, self.kwargs["key"])
        if not access.may_add(self.person, self.model, organisation_id_of(owner)):
            raise Http404
        return owner

    def row(self) -> Any:
        return self.model(**{self.parent_field: self.owner})

    def heading(self, row: Any) -> dict[str, Any]:
        thing = self.thing or word(self.model)
        return {"title": f"New {thing}", "crumbs": trail(self.owner), "cancel_url": address(self.owner)}


class AddOwnPage(AddPage):
    """Add a row to the person's organisation."""

    def row(self) -> Any:
        if not access.organisations_of(self.person, access.registered()[self.model].add):
            raise Http404
        return self.model()

    def heading(self, row: Any) -> dict[str, Any]:
        crumb = list_link(self.model)
        return {"title": f"New {self.thing or word(self.model)}", "crumbs": [crumb], "cancel_url": crumb[1]}


class RowPage(Page):
    """A page about one row."""

    model: type[Record]
    act = "see"
    related: ClassVar[tuple[str, ...]] = ()

    @cached_property
    def found(self) -> Any:
        return access.find(self.person, self.model, self.kwargs["key"], act=self.act, related=self.related)

    @cached_property
    def may_change(self) -> bool:
        return access.may_change(self.person, self.found)

    @cached_property
    def may_remove(self) -> bool:
        return access.may_remove(self.person, type(self.found), organisation_id_of(self.found))

    def deeds(self) -> list[dict[str, Any]]:
        """What the person may do with the row from its page."""
        may = ["edit"] * self.may_change + ["history"] + ["delete"] * self.may_remove
        return deeds(self.found, *may)


class PolledPage(RowPage):
    """A page about one row, or a part of one, that asks again by itself how far the worker is."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.headers.get("HX-Request") and not request.user.is_authenticated:
            # The login has ended while the page stood open: load it anew instead of a login form in a part of it.
            return HttpResponse(headers={"HX-Refresh": "true"})
        return super().dispatch(request, *args, **kwargs)


class EditPage(RowPage, FormPage):
    act = "change"

    def row(self) -> Any:
        return self.found

    def heading(self, row: Any) -> dict[str, Any]:
        return {
            "title": str(row),
            "kicker": f"Change {word(self.model)}",
            "crumbs": trail_above(row),
            "cancel_url": address(row),
            "actions": self.actions(row),
        }

    def actions(self, row: Any) -> list[dict[str, Any]]:
        return deeds(row, *["history"] * (self.model in history.KEPT), *["delete"] * self.may_remove)


class DeletePage(RowPage):
    """Says what hangs on a row, and deletes it when nothing that must stay does."""

    template_name = "campaigns/delete.html"
    act = "remove"
    kept = "The history keeps that it was here."
    verb = "Delete"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask(weigh(self.found))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        back = self.after()
        name = f"{word(self.model)} {row_wording.name(self.found)}"
        try:
            self.remove()
        except ValidationError as refused:
            return self.ask(Removal(blocked=refused.messages), status=409)
        messages.success(request, f"Deleted: {name}.")
        return redirect(back)

    def remove(self) -> None:
        """By the service whose rule it is. Raises ValidationError when it must stay."""
        remove(self.found)

    def ask(self, removal: Removal, status: int = 200) -> HttpResponse:
        return self.show(
            status=status,
            title=f"{self.verb} {word(self.model)}",
            delete_label=self.verb,
            crumbs=trail_above(self.found),
            object_name=f"{capital(word(self.model))} {row_wording.name(self.found)}",
            goes_too=removal.goes_too,
            blocked=removal.blocked,
            kept=self.kept if self.model in history.KEPT else "",
            cancel_url=address(self.found),
        )

    def after(self) -> str:
        """Where to go when it is gone: to what it was part of."""
        crumbs = trail_above(self.found)
        return crumbs[-1][1] if crumbs else reverse(self.model.list_route)


class HistoryPage(RowPage):
    """Who changed the row, when, from what to what."""

    template_name = "campaigns/history.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.show(
            title=str(self.found),
            kicker=f"History of {word(self.model)}",
            crumbs=self.crumbs(),
            entries=self.entries(),
        )

    def entries(self) -> list[dict[str, Any]]:
        return row_wording.entries(self.found, history.of(self.found))

    def crumbs(self) -> list[Link]:
        return trail(self.found)
