"""Signing and releasing a campaign's report, and taking one back."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.access import CONSULTANTS
from campaigns.forms.limits import EditionsForm
from campaigns.links import trail
from campaigns.models import Campaign, LimitCheck, Membership, Role, User
from campaigns.services.limits_library import confirm_editions, from_memory
from campaigns.views.pages import RowPage
from methods.wording.limits import CHECK
from readings.services.clock_questions import open_questions
from reports.content.changes import changes
from reports.content.stored import digest_of
from reports.forms import ProvenForm
from reports.models import Report
from reports.pages import released_report
from reports.pages.changed_since import changed_since
from reports.queries.report_heads import signed_revisions
from reports.services.departures import agreement_standing
from reports.services.freeze import freeze
from reports.services.readiness import differs, in_force
from reports.services.release import NotReleased, prepare, sign_and_release

CONFIRMATION = "I have read the findings above and release them, signed by {name}."


class SignForm(ProvenForm):
    """``seen``: the digest of what the page showed, so that what is signed is what was read. Whoever signs proves once
    more that it is they: a browser left open signs nothing."""

    qualification = forms.CharField(
        label="Qualification",
        required=False,
        max_length=200,
        help_text="If you want one to stand behind your name, for example “occupational hygienist”.",
    )
    confirm = forms.BooleanField(
        label=CONFIRMATION,
        help_text="A released revision cannot be changed. A correction is a new revision.",
        error_messages={"required": "Nothing is released without this."},
    )
    seen = forms.CharField(widget=forms.HiddenInput, max_length=64)

    field_order = ("qualification", "confirm", "password")

    def __init__(self, *args: Any, person: User, host: str = "", **kwargs: Any) -> None:
        super().__init__(*args, person=person, host=host, **kwargs)
        self.fields["confirm"].label = CONFIRMATION.format(name=person.get_full_name() or "my name")


class ReportOf(RowPage):
    """The campaign's report as it would be released now, what is missing, and the revisions there are."""

    roles: ClassVar[frozenset[Role]] = CONSULTANTS
    model = Campaign
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("site__organisation", "site__client")
    template_name = "reports/report.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask()

    def ask(
        self,
        form: SignForm | None = None,
        refused: NotReleased | None = None,
        status: int = 200,
        editions: EditionsForm | None = None,
    ) -> HttpResponse:
        campaign = self.found
        if not access.may_add(self.person, Report, campaign.site.organisation_id):
            raise Http404
        content = freeze(campaign)
        current = in_force(campaign)
        former = campaign.reports.order_by("-revision").first()
        digest = digest_of(content)
        self.extra_context = self.around(editions)
        return self.show(
            status,
            campaign=campaign,
            content=content,
            digest=digest,
            matrix=released_report.matrix(content),
            ready=prepare(campaign),
            form=self.fresh(form, digest, refused),
            refused=refused,
            news=differs(current, content),
            current=current,
            changes=changes(former.record, content) if former else [],
            former=former,
            changed=changed_since(current, current.record.files, self.person) if current else [],
            revisions=signed_revisions(campaign),
            release_url=reverse("report-release", args=[campaign.key]),
        )

    def around(self, editions: EditionsForm | None) -> dict[str, Any]:
        """The heading, and what is asked before it can be signed."""
        campaign = self.found
        return {
            "title": "Report",
            "kicker": "Release",
            "subtitle": "What the client will read, as of now. Once signed, nothing done to the campaign changes it.",
            "crumbs": trail(campaign),
            "unnamed": not self.person.get_full_name(),
            "nameless": self.own_role(),
            "editions": editions or EditionsForm(from_memory(campaign)),
            "editions_url": reverse("report-editions", args=[campaign.key]),
            "must_check": CHECK,
            "departed": agreement_standing(campaign),
            "clocks": [question for question in open_questions(campaign) if question.left is None],
        }

    def fresh(self, form: SignForm | None, seen: str, refused: NotReleased | None) -> SignForm:
        """The form for what this page shows. After a refusal the person reads and confirms again."""
        if form is None or refused is not None:
            stated = form.cleaned_data["qualification"] if form is not None else self.stated_before()
            return SignForm(initial={"qualification": stated, "seen": seen}, person=self.person)
        form.data = {**form.data, "seen": seen}
        return form

    def stated_before(self) -> str:
        """The qualification this person stated last, here."""
        mine = self.found.reports.filter(signed_by=self.person).order_by("-revision")
        return mine.values_list("signed_qualification", flat=True).first() or ""

    def own_role(self) -> Membership | None:
        """Where the person's own name is put right, while there is none."""
        if self.person.get_full_name():
            return None
        mine = access.changeable(self.person, Membership).filter(user=self.person)
        return mine.filter(organisation=self.found.site.organisation_id).first()


class ReportRelease(ReportOf):
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = SignForm(request.POST, person=self.person, host=request.META.get("REMOTE_ADDR", ""))
        if not form.is_valid():
            return self.ask(form, status=422)
        said = form.cleaned_data
        try:
            report = sign_and_release(self.found, self.person, said["qualification"], seen=said["seen"])
        except NotReleased as refused:
            return self.ask(form, refused, status=409)
        messages.success(request, f"Released: revision {report.revision}. Its PDF is being set.")
        return redirect("released-report", key=report.key)


class ReportEditions(ReportOf):
    """The signer has limits of the report on the desk, and says in which edition and where they stand."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        organisation_id = self.found.site.organisation_id
        if not access.may_add(self.person, LimitCheck, organisation_id):
            raise Http404
        form = EditionsForm(from_memory(self.found), request.POST)
        if not form.is_valid():
            return self.ask(status=422, editions=form)
        confirmed = list(form.confirmed())
        confirm_editions(confirmed, organisation_id, self.person)
        count = "1 limit" if len(confirmed) == 1 else f"{len(confirmed)} limits"
        tell = messages.success if confirmed else messages.warning
        tell(request, f"{count} confirmed." if confirmed else "Nothing was filled in, so nothing is confirmed.")
        return redirect("report", key=self.found.key)
