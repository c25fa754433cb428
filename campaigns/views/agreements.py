"""Agreeing with a client before the visit, as those who work here see it."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.forms.agreements import WORDS, AgreementForm, RecordAcceptanceForm
from campaigns.links import Link, trail
from campaigns.models import Agreement, Campaign, Membership
from campaigns.pages import agreement as page
from campaigns.services import agreements
from campaigns.views.pages import AddPage, DeletePage, EditPage, HistoryPage, RowPage

CAUTION = (
    "What is agreed is the rule by which the air is judged, not what the answer will be.",
    "A verdict says how a measurement stands to one published value. It is no statement of safety.",
    "What law or local code asks for is not replaced by an agreement.",
)


class AgreementPage(RowPage):
    """Every version of a campaign, and what would be frozen with the draft."""

    model = Campaign
    template_name = "campaigns/agreement.html"
    related: ClassVar[tuple[str, ...]] = ("site__organisation", "site__client")

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.tell()

    def tell(self, status: int = 200) -> HttpResponse:
        campaign = self.found
        rows = access.visible(self.person, Agreement).filter(campaign=campaign).select_related("answered_by")
        versions = page.versions(rows, campaign.site.zone_info)
        draft = next((row for row in rows if row.state == Agreement.State.DRAFT), None)
        people = access.visible(self.person, Membership).filter(client=campaign.site.client, client__isnull=False)
        return self.show(
            status=status,
            title="Agreement",
            kicker=campaign.name,
            subtitle="The question, the rule that decides it, what follows: agreed with the client before the visit.",
            crumbs=trail(campaign),
            campaign=campaign,
            versions=versions,
            draft=draft,
            preview=page.preview(draft) if draft else None,
            may_write=self.may_change,
            begun=page.begun(campaign),
            unreached=self.may_change and campaign.site.client is not None and not people.exists(),
            cautions=CAUTION,
        )


class AgreementAdd(AddPage):
    """Begin the next version with the words of the last one. A draft that is there already is changed instead."""

    model, form_class = Agreement, AgreementForm
    parent, parent_field = Campaign, "campaign"
    cautions = CAUTION

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        held = self.owner.agreements.filter(state=Agreement.State.DRAFT).first()
        return redirect("agreement-edit", key=held.key) if held else super().get(request, **kwargs)

    def row(self) -> Any:
        last = self.owner.agreements.order_by("-version").first()
        words = {name: getattr(last, name) for name in WORDS} if last else {"question": self.owner.objective}
        return Agreement(campaign=self.owner, **words)

    def heading(self, row: Any) -> dict[str, Any]:
        back = reverse("agreement", args=[self.owner.key])
        crumbs = [*trail(self.owner), ("Agreement", back)]
        return {"title": "New version", "kicker": "Agreement", "crumbs": crumbs, "cancel_url": back}

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: version {row.version}. The client sees it once it is offered.")
        return redirect("agreement", key=row.campaign.key)


class OfAgreement(RowPage):
    """A page about one version; ``states``: those in which it exists."""

    model = Agreement
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("campaign__site__organisation", "campaign__site__client")
    states: ClassVar[tuple[str, ...]] = tuple(Agreement.State)

    @cached_property
    def found(self) -> Any:
        row = access.find(self.person, self.model, self.kwargs["key"], act=self.act, related=self.related)
        if row.state not in self.states:
            raise Http404
        return row

    def back(self) -> str:
        return reverse("agreement", args=[self.found.campaign.key])

    def trail(self) -> list[Link]:
        return [*trail(self.found.campaign), ("Agreement", self.back())]


class AgreementEdit(OfAgreement, EditPage):
    form_class = AgreementForm
    states = (Agreement.State.DRAFT,)
    cautions = CAUTION

    def heading(self, row: Any) -> dict[str, Any]:
        title = f"Version {row.version}"
        return {"title": title, "kicker": "Change agreement", "crumbs": self.trail(), "cancel_url": self.back()}

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: version {row.version}.")
        return redirect(self.back())


class AgreementDelete(OfAgreement, DeletePage):
    states = (Agreement.State.DRAFT,)
    verb = "Discard"

    def remove(self) -> None:
        agreements.discard(self.found, self.person)

    def after(self) -> str:
        return self.back()

    def show(self, status: int = 200, **context: Any) -> HttpResponse:
        return super().show(status, **context | {"crumbs": self.trail(), "cancel_url": self.back()})


class AgreementHistory(OfAgreement, HistoryPage):
    act = "see"

    def crumbs(self) -> list[Link]:
        return self.trail()


class AgreementOffer(OfAgreement):
    """Freeze the draft and give it to the client."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            row = agreements.offer(self.found, self.person)
        except ValidationError as refused:
            messages.error(request, refused.messages[0])
        else:
            messages.success(request, f"Offered: version {row.version}. It stands on the client's start page.")
        return redirect(self.back())


class AgreementRecord(OfAgreement):
    """Record that the client accepted otherwise than on its page."""

    template_name = "campaigns/form.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask(self.form(initial={"seen": self.found.digest}))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = self.form(request.POST)
        if not form.is_valid():
            return self.ask(form, status=422)
        try:
            row = agreements.record_acceptance(self.found, self.person, **form.cleaned_data)
        except agreements.OvertakenVersion as refused:
            messages.error(request, refused.messages[0])
            return redirect(self.back())
        except ValidationError as refused:
            form.add_error(None, refused)
            return self.ask(form, status=422)
        messages.success(request, f"Recorded: version {row.version} was accepted by {row.answered_name}.")
        return redirect(self.back())

    def form(self, *args: Any, **kwargs: Any) -> RecordAcceptanceForm:
        return RecordAcceptanceForm(*args, zone=self.found.campaign.site.zone_info, **kwargs)

    def ask(self, form: RecordAcceptanceForm, status: int = 200) -> HttpResponse:
        return self.show(
            status=status,
            title="Accepted otherwise",
            kicker=f"Agreement, version {self.found.version}",
            subtitle="The report prints who accepted, how, and that you recorded it.",
            crumbs=self.trail(),
            cancel_url=self.back(),
            form=form,
            submit_label="Record",
            cautions=("It counts from the time of recording: record it before measuring begins.",),
        )
