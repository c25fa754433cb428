"""Who of the client reads what is released, and inviting one more."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.access import CONSULTANTS
from campaigns.forms.texts import SeenText
from campaigns.links import trail
from campaigns.models import Campaign, Membership, Role
from campaigns.views.pages import RowPage
from reports.services.reader_invitation import NO_CLIENT, invitation, invite
from reports.services.readiness import in_force


class InviteForm(SeenText, forms.Form):
    """The address of somebody who is to read the findings."""

    email = forms.EmailField(label="E-mail address", help_text="They log in with it.")
    name = forms.CharField(label="Name", required=False, max_length=200)


class OfCampaign(RowPage):
    """A page of the campaign's, for those who may open it to its client."""

    roles: ClassVar[frozenset[Role]] = CONSULTANTS
    model = Campaign
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("site__organisation", "site__client")


class Readers(OfCampaign):
    """The people of the campaign's client, and a form to invite one."""

    template_name = "reports/readers.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask(InviteForm())

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign, form = self.found, InviteForm(request.POST)
        if not form.is_valid():
            return self.ask(form, status=422)
        try:
            reader = invite(campaign, form.cleaned_data["email"], form.cleaned_data["name"])
        except ValidationError as refused:
            form.add_error(None, refused)  # by field where the reason names one
            return self.ask(form, status=422)
        return redirect("reader-link", key=campaign.key, reader=reader.key)

    def ask(self, form: InviteForm, status: int = 200) -> HttpResponse:
        campaign = self.found
        client = campaign.site.client
        people = access.visible(self.person, Membership).filter(client=client, client__isnull=False)
        return self.show(
            status=status,
            title="Readers",
            kicker=campaign.name,
            subtitle="Who of the client reads what is released of this campaign.",
            crumbs=trail(campaign),
            campaign=campaign,
            client=client,
            no_client=NO_CLIENT,
            released=client is not None and in_force(campaign, client) is not None,
            readers=people.select_related("user").order_by("user__email"),
            form=form,
        )


class ReaderLink(OfCampaign):
    """The invitation, ready to be handed over by the person who sees this page."""

    template_name = "reports/reader_link.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        reader = access.find(
            self.person, Membership, self.kwargs["reader"], act="change", related=("user", "organisation")
        )
        if reader.client_id is None or reader.client_id != campaign.site.client_id:
            raise Http404
        way_in = invitation(campaign, reader, by=self.person)
        return self.show(
            title="Invitation",
            kicker=campaign.name,
            crumbs=[*trail(campaign), ("Readers", reverse("readers", args=[campaign.key]))],
            campaign=campaign,
            reader=reader,
            way_in=way_in,
            link=request.build_absolute_uri(way_in.path),
            days=settings.PASSWORD_RESET_TIMEOUT // 86_400,
            back=reverse("readers", args=[campaign.key]),
        )
