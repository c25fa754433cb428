"""What a person of the client reads before a visit, and their answer: the frozen agreement and nothing else."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from campaigns import access
from campaigns.forms.agreements import AcceptAgreementForm, DeclineAgreementForm
from campaigns.models import Agreement, Role
from campaigns.pages import agreement as page
from campaigns.services import agreements
from campaigns.views.agreements import CAUTION
from campaigns.views.pages import Page


class ClientAgreement(Page):
    """One offered version. Those who work here see it as the client does, without the answer."""

    roles: ClassVar[frozenset[Role]] = frozenset(Role)
    template_name = "campaigns/client_agreement.html"

    @cached_property
    def found(self) -> Agreement:
        rows = access.visible(self.person, Agreement).filter(offered_at__isnull=False)
        return get_object_or_404(rows.select_related("campaign__site"), key=self.kwargs["key"])

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.tell(self.found)

    def tell(
        self,
        row: Agreement,
        status: int = 200,
        accept: AcceptAgreementForm | None = None,
        decline: DeclineAgreementForm | None = None,
    ) -> HttpResponse:
        seen = {"seen": row.digest}
        asked = row.state == Agreement.State.OFFERED and row.is_whole and agreements.may_answer(row, self.person)
        newer = access.visible(self.person, Agreement).filter(campaign=row.campaign_id, version__gt=row.version)
        return self.show(
            status=status,
            title="What is agreed before the visit",
            kicker=row.record.campaign,
            subtitle=row.record.terms.site,
            crumbs=[("Findings", reverse("released"))],
            agreement=page.version_of(row, row.campaign.site.zone_info),
            content=row.record,
            newer=newer.filter(offered_at__isnull=False).order_by("-version").first(),
            asked=asked,
            begun=page.begun(row.campaign) if asked else "",
            accept=accept or AcceptAgreementForm(initial=seen, auto_id="accept_%s"),
            decline=decline or DeclineAgreementForm(initial=seen, auto_id="decline_%s"),
            accept_url=reverse("client-agreement-accept", args=[row.key]),
            decline_url=reverse("client-agreement-decline", args=[row.key]),
            cautions=CAUTION,
        )


class ClientAnswer(ClientAgreement):
    """Takes an answer of a person of the client; nobody else has one to give."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    @cached_property
    def found(self) -> Agreement:
        row = super().found
        if not agreements.may_answer(row, self.person):
            raise Http404
        return row

    def refused(self, why: ValidationError) -> HttpResponse:
        """Shows what is with the client now, and that the answer was not taken."""
        messages.error(self.request, why.messages[0])
        newest = agreements.newest_for_client(self.found.campaign)
        mine = newest and access.visible(self.person, Agreement).filter(pk=newest.pk).exists()
        return self.tell(newest if newest and mine else self.found, status=409)


class ClientAgreementAccept(ClientAnswer):
    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = AcceptAgreementForm(request.POST, auto_id="accept_%s")
        if not form.is_valid():
            return self.tell(self.found, status=422, accept=form)
        try:
            row = agreements.accept(self.found, self.person, seen=form.cleaned_data["seen"])
        except ValidationError as refused:
            return self.refused(refused)
        messages.success(request, f"Accepted: version {row.version}. Your name and the time are noted.")
        return redirect("client-agreement", key=row.key)


class ClientAgreementDecline(ClientAnswer):
    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = DeclineAgreementForm(request.POST, auto_id="decline_%s")
        if not form.is_valid():
            return self.tell(self.found, status=422, decline=form)
        said = form.cleaned_data
        try:
            row = agreements.decline(self.found, self.person, seen=said["seen"], comment=said["comment"])
        except ValidationError as refused:
            return self.refused(refused)
        messages.success(request, f"Declined: version {row.version}. Your consultant sees what you wrote.")
        return redirect("client-agreement", key=row.key)
