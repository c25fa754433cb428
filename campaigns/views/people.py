"""Clients, and the people of the organisation and of its clients."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access, history
from campaigns.access import CONSULTANTS
from campaigns.forms import people as forms
from campaigns.links import list_link
from campaigns.models import ApiToken, Client, Membership
from campaigns.services.people import password_link, take_away
from campaigns.services.removal import Removal
from campaigns.views import row_wording
from campaigns.views.pages import AddOwnPage, DeletePage, EditPage, HistoryPage, ListPage, Page, RowPage


class Clients(ListPage):
    model = Client
    title = "Clients"
    caption = "Who ordered the work."
    columns = [{"label": "Client"}, {"label": "Sites", "num": True}, {"label": "People", "num": True}]
    empty = ("No clients yet", "A client owns sites and reads what is released about them.")

    def rows(self) -> Any:
        return (
            super()
            .rows()
            .annotate(site_count=Count("sites", distinct=True), people_count=Count("memberships", distinct=True))
        )

    def cells(self, row: Any) -> list[Any]:
        url = reverse("client-edit", args=[row.key]) if self.actions() else ""
        return [{"text": row.name, "url": url}, row.site_count, row.people_count]


class ClientAdd(AddOwnPage):
    model, form_class = Client, forms.ClientForm


class ClientEdit(EditPage):
    model, form_class = Client, forms.ClientForm


class ClientDelete(DeletePage):
    model = Client


class ClientHistory(HistoryPage):
    model = Client


class People(ListPage):
    model = Membership
    roles = CONSULTANTS
    title = "People"
    caption = "Who has a role here."
    columns = [{"label": "Person"}, {"label": "Address"}, {"label": "Role"}, {"label": "Client"}, {"label": ""}]
    empty = ("Nobody has a role here", "")

    def rows(self) -> Any:
        return super().rows().select_related("user", "client")

    def cells(self, row: Any) -> list[Any]:
        link = {"label": "Password link", "url": reverse("person-link", args=[row.key])}
        return [
            {"text": str(row.user), "url": reverse("person-edit", args=[row.key])},
            {"text": row.user.email, "note": "" if row.user.has_usable_password() else "has not set a password yet"},
            row.get_role_display(),
            row.client or "–",
            {"actions": [link]},
        ]

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(links=[list_link(Client), list_link(ApiToken), PeopleHistory.link()], **kwargs)


class PersonAdd(AddOwnPage):
    model, form_class = Membership, forms.PersonForm

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: {row.user} is here as {row.get_role_display().lower()}.")
        return redirect("person-link", key=row.key)


class PersonEdit(EditPage):
    model, form_class = Membership, forms.RoleForm
    related = ("user", "organisation")


class PersonDelete(DeletePage):
    """Takes the role away; the person's name stays on what they did."""

    model = Membership
    related = ("user", "organisation")
    verb = "Remove"
    kept = "What they entered and signed stays, with their name. The API tokens they made stop working."

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            take_away(self.found)
        except ValidationError as error:
            return self.ask(Removal(blocked=error.messages), status=409)
        messages.success(request, f"{self.found.user} has no role here any more.")
        return redirect("people")


class PersonHistory(HistoryPage):
    model = Membership
    roles = CONSULTANTS


class PeopleHistory(Page):
    """Who came and went, what was done with their accounts, and which tokens there were: of those who are gone, too."""

    roles = CONSULTANTS
    template_name = "campaigns/history.html"
    latest = 200

    def get(self, request: HttpRequest) -> HttpResponse:
        houses = access.organisations_of(self.person, CONSULTANTS)
        found = history.of_organisations((Membership, ApiToken), houses)[: self.latest]
        return self.show(
            title="People and tokens",
            kicker="History",
            crumbs=[list_link(Membership)],
            entries=row_wording.entries_of_several(found),
        )

    @classmethod
    def link(cls) -> tuple[str, str]:
        return "History", reverse("people-history")


class PersonLink(RowPage):
    """The link with which somebody sets a password, to be handed over by the person who sees this page."""

    model = Membership
    act = "change"
    related = ("user", "organisation")
    template_name = "campaigns/person_link.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        path = password_link(self.found, by=self.person)
        return self.show(
            title="Password link",
            crumbs=[list_link(Membership)],
            someone=self.found.user,
            link=request.build_absolute_uri(path) if path else "",
            back=reverse("people"),
        )
