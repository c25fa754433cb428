"""Handing in logs, and the page of each one."""

from __future__ import annotations

from datetime import datetime
from functools import cached_property
from typing import Any, ClassVar, NamedTuple, cast
from zoneinfo import ZoneInfo

from django import forms
from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.core.paginator import Paginator
from django.db.models import F
from django.db.models.functions import Coalesce
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import redirect
from django.urls import reverse
from django_htmx.middleware import HtmxDetails

from campaigns import access
from campaigns.links import trail
from campaigns.models import Campaign, Instrument, Job
from campaigns.services.ownership import organisation_id_of
from campaigns.services.workers import NO_WORKER, beating
from campaigns.views.pages import PolledPage, RowPage
from methods.quantities.moments import stamp_text, utc_moment
from readings.models import SettingAside, Upload
from readings.pages import reading_anew
from readings.queries import Placement, placement_of
from readings.queries.upload_jobs import jobs_of
from readings.services import clock_review, duplicate_memory, file_doubts, stored_value, upload_decisions
from readings.services.original_lines import first_lines
from readings.services.receive import NOT_OURS, Receipt, UploadRefused, display_name, receive
from readings.templatetags.readings_words import render_row

HINT = "As the instrument wrote them, unchanged: the original is kept and its SHA-256 noted."
HEAVY = ("layout", "understood", "settled", "archive__layout", "archive__understood", "archive__settled")
NOT_READ = "But it was not read to its end: open it, and have it read again."
#: Where the request says that there was no space for a file of it (config.storage), and what people are told.
NO_SPACE = "fanlight.no_space"
NOT_SPOOLED = "There is no space left for a file that came: nothing of it was kept. Tell the operator."
NO_FILE = "No file came with this."
#: Which of the logs are listed: name of the choice, words, states.
SHOWN: dict[str, tuple[str, tuple[str, ...]]] = {
    "": ("All", ()),
    "waiting": ("Waiting for a decision", (Upload.State.ATTENTION,)),
    "unreadable": ("Cannot be read", (Upload.State.UNREADABLE,)),
}


class HandInAnswer(NamedTuple):
    """What became of one file: a status as HTTP has them, and what is said."""

    name: str
    status: int
    body: dict[str, str]


class InstrumentChoiceForm(forms.Form):
    instrument = forms.ModelChoiceField(
        Instrument.objects.none(), required=False, empty_label="Find it by the serial number in the file"
    )

    def __init__(self, *args: Any, campaign: Campaign, person: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast("forms.ModelChoiceField[Instrument]", self.fields["instrument"])
        own = access.visible(person, Instrument).filter(organisation=campaign.site.organisation_id)
        field.queryset = own


class Uploads(RowPage):
    """Every log of a campaign, and the place where more are handed in."""

    template_name = "readings/uploads.html"
    model = Campaign
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.listing(InstrumentChoiceForm(campaign=self.found, person=self.person))

    @property
    def scripted(self) -> bool:
        return "application/json" in self.request.headers.get("Accept", "")

    def handle_no_permission(self) -> HttpResponseRedirect | JsonResponse:  # type: ignore[override]
        """A script would follow the way to the login page and take its 200 for "accepted"."""
        if self.scripted:
            return JsonResponse({"message": "Your login has ended. Reload the page and log in."}, status=401)
        return super().handle_no_permission()

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not access.may_add(self.person, Upload, organisation_id_of(self.found)):
            raise Http404
        form = InstrumentChoiceForm(request.POST, campaign=self.found, person=self.person)
        if not form.is_valid():
            return JsonResponse({"message": NOT_OURS}, status=400) if self.scripted else self.listing(form, status=422)
        answers = [self.take(file, form.cleaned_data["instrument"]) for file in request.FILES.getlist("file")]
        if request.META.get(NO_SPACE):
            answers.append(HandInAnswer("", 503, {"message": NOT_SPOOLED}))
        return self.to_script(answers) if self.scripted else self.to_form(answers)

    def take(self, file: UploadedFile[Any], instrument: Instrument | None) -> HandInAnswer:
        try:
            receipt = receive(file, self.found, instrument, self.person)
        except UploadRefused as refused:
            status = 503 if refused.passing else 422
            return HandInAnswer(display_name(file.name or ""), status, {"message": str(refused)})
        return HandInAnswer(display_name(file.name or ""), 409 if receipt.already_held else 201, self.told(receipt))

    @staticmethod
    def to_script(answers: list[HandInAnswer]) -> JsonResponse:
        """One file is answered with its own status, several with one each."""
        if not answers:
            return JsonResponse({"message": NO_FILE}, status=400)
        if len(answers) == 1:
            return JsonResponse(answers[0].body, status=answers[0].status)
        return JsonResponse({"files": [{"name": a.name, "status": a.status, **a.body} for a in answers]}, status=207)

    def to_form(self, answers: list[HandInAnswer]) -> HttpResponse:
        for answer in answers:
            tell = messages.success if answer.status == 201 else messages.warning
            told = answer.body["message"]
            tell(self.request, told if answer.status in (422, 503) else f"{answer.name}: {told}")  # a refusal names it
        if not answers:
            messages.warning(self.request, NO_FILE)
        return redirect(reverse("uploads", args=[self.found.key]))

    @staticmethod
    def told(receipt: Receipt) -> dict[str, str]:
        url = reverse("upload", args=[receipt.upload.key])
        if receipt.already_held:
            zone = receipt.upload.campaign.site.zone_info
            since = f"{receipt.upload.created_at.astimezone(zone):%Y-%m-%d %H:%M}"
            held = f"Already held since {since}, as “{receipt.upload.filename}”."
            job = jobs_of([receipt.upload.pk]).get(receipt.upload.pk)
            if job is not None and job.may_be_asked_again:
                return {"message": f"{held} {NOT_READ}", "url": url, "unread": "yes"}
            return {"message": held, "url": url}
        row = reverse("upload-row", args=[receipt.upload.key])
        now = "It is being read now." if beating() else NO_WORKER
        return {"message": f"Stored. {now}", "url": url, "row": row}

    def listing(self, form: InstrumentChoiceForm, status: int = 200) -> HttpResponse:
        rows = access.visible(self.person, Upload).filter(campaign=self.found).select_related("instrument", "archive")
        rows = rows.defer(*HEAVY)  # what a list of fifty has no use for
        any_held = rows.exists()
        wanted = self.request.GET.get("show", "")
        wanted = wanted if wanted in SHOWN else ""
        if states := SHOWN[wanted][1]:
            rows = rows.filter(state__in=states)
        came = Coalesce("archive__created_at", "created_at").desc()  # the logs of an archive stand below it
        rows = rows.order_by(came, F("archive").asc(nulls_first=True), "pk")
        page = Paginator(rows, 50).get_page(self.request.GET.get("page"))
        return self.show(
            status=status,
            title="Uploads",
            subtitle="The logs of this campaign. Each is kept as it came.",
            crumbs=trail(self.found),
            form=form,
            upload_url=reverse("uploads", args=[self.found.key]),
            max_bytes=settings.UPLOAD_MAX_BYTES,
            max_words=f"{settings.UPLOAD_MAX_BYTES / 1e6:.0f} MB",
            hint=HINT,
            uploads=page,
            any_held=any_held,
            options=[(label, f"?show={name}" if name else "?", name == wanted) for name, (label, _) in SHOWN.items()],
            page_obj=page,
            page_query=f"&show={wanted}" if wanted else "",
            jobs=jobs_of([u.pk for u in page]),
        )


def logs_inside(upload: Upload, person: Any) -> list[Upload]:
    """Of an archive that was unpacked: its logs, uploads of their own, in the order of the archive."""
    if upload.state != Upload.State.UNPACKED:
        return []
    rows = access.visible(person, Upload).filter(archive=upload).select_related("instrument", "archive")
    return list(rows.defer(*HEAVY).order_by("pk"))


class UploadPage(RowPage):
    """What was understood of a file, what was wrong at which line, and where its readings lie."""

    template_name = "readings/upload.html"
    model = Upload
    related: ClassVar[tuple[str, ...]] = (
        "campaign__site", "instrument__type", "uploaded_by", "kept_layout", "reads_anew__set_aside__by", "archive",
    )  # fmt: skip

    @cached_property
    def zone(self) -> ZoneInfo:
        return cast("ZoneInfo", self.found.campaign.site.zone_info)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        upload = self.found
        placement = placement_of(upload)
        key = upload.key
        jobs = jobs_of([upload.pk])
        problems = list(upload.problems.all()[:200])
        return self.show(
            title=upload.filename,
            kicker="Upload",
            crumbs=[*trail(upload.campaign), ("Uploads", reverse("uploads", args=[upload.campaign.key]))],
            actions=[{"label": "Original file", "url": reverse("upload-original", args=[key]), "download": True}],
            upload=upload,
            jobs=jobs,
            under_way=any(not job.ended for job in jobs.values()),
            **self.unfinished(jobs.get(upload.pk)),
            may_change=self.may_change,
            facts=self.facts(),
            layout=upload.layout,
            stored_value=stored_value.said(upload.instrument, upload.kept_layout),
            problems=problems,
            reasons=[p for p in problems if p.line == 0 or p.code in file_doubts.WHEN_READ],
            asked=self.asked(),
            placement=placement,
            places=self.places(placement),
            unplaced=self.span(placement.unplaced_first_ms, placement.unplaced_last_ms),
            instrument_form=InstrumentChoiceForm(
                campaign=upload.campaign, person=self.person, initial={"instrument": upload.instrument_id}
            ),
            first_lines=first_lines(upload, 8),
            logs_inside=self.logs_inside,
            inside_jobs=jobs_of([log.pk for log in self.logs_inside]),
            may_set_aside=access.may_add(self.person, SettingAside, organisation_id_of(upload)),
            is_fixed=bool(upload.stored),
            stretches=[s for s in reading_anew.stretches(upload, self.zone) if not s["back"]],
            **reading_anew.of_upload(upload, self.zone),
        )

    @cached_property
    def logs_inside(self) -> list[Upload]:
        return logs_inside(self.found, self.person)

    def unfinished(self, job: Job | None) -> dict[str, Any]:
        """The job that failed without having read the file, and whether the person may have it done again."""
        if job is None or self.found.withdrawn or not job.may_be_asked_again:
            return {"unfinished": None}
        return {
            "unfinished": job,
            "stored_text": f"{self.found.stored:,}",
            "may_ask_again": access.may_change(self.person, job),
        }

    def asked(self) -> dict[str, bool]:
        """Which decisions about its place in time wait for a person."""
        if self.found.state != Upload.State.ATTENTION:
            return {}
        rows = self.found.problems.values_list("code", "line")
        codes = {code for code, line in rows if line == 0}
        return {
            "doubt": bool({code for code, _ in rows} & file_doubts.CODES - set(self.found.accepted)),
            "clock": bool(codes & {clock_review.CLOCK, clock_review.RESET}),
            "outside": clock_review.OUTSIDE in codes,
            "twin": duplicate_memory.CODE in codes,
        }

    def facts(self) -> list[tuple[str, str]]:
        upload = self.found
        stamps = "–"
        if upload.first_stamp_ms is not None and upload.last_stamp_ms is not None:
            stamps = (
                f"{stamp_text(upload.first_stamp_ms)} to {stamp_text(upload.last_stamp_ms)}, as the logger shows it"
            )
        return [
            ("State", upload.get_state_display()),
            ("Instrument", str(upload.instrument or "not known yet")),
            ("Lines with readings", f"{upload.lines:,}"),
            ("Readings stored", f"{upload.stored:,}"),
            ("Already held from another file", f"{upload.held:,}"),
            ("Problems", f"{upload.problem_count:,}"),
            ("Stamps", stamps),
            ("Size", f"{upload.size:,} bytes"),
            ("SHA-256", upload.sha256),
            ("Handed in", f"{self.local(upload.created_at)} by {upload.uploaded_by or 'somebody who has left'}"),
        ]

    def places(self, placement: Placement) -> list[dict[str, Any]]:
        return [
            {"deployment": s.deployment, "lines": s.lines, "span": self.span(s.first_ms, s.last_ms)}
            for s in sorted(placement.shares, key=lambda s: s.first_ms)
        ]

    def span(self, first_ms: int | None, last_ms: int | None) -> str:
        if first_ms is None or last_ms is None:
            return ""
        return f"{self.local(utc_moment(first_ms))} to {self.local(utc_moment(last_ms))}"

    def local(self, moment: datetime) -> str:
        return f"{moment.astimezone(self.zone):%Y-%m-%d %H:%M}"


class UploadRow(PolledPage):
    """The row of an upload alone, for a page that asks how far it is. In a list an archive that was unpacked meanwhile
    brings the rows of its logs, which come below it."""

    model = Upload
    related: ClassVar[tuple[str, ...]] = ("campaign", "instrument", "archive")

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        upload = self.found
        job = jobs_of([upload.pk]).get(upload.pk)
        answer = HttpResponse(render_row(upload, job))
        if job is None or not job.ended:
            return answer
        if self.is_on(*(reverse(name, args=[upload.key]) for name in ("upload", "upload-layout", "upload-again"))):
            answer["HX-Refresh"] = "true"  # all of the page tells of the file: what is asked, where its readings lie
        elif self.is_on(reverse("uploads", args=[upload.campaign.key])):
            inside = logs_inside(upload, self.person)
            jobs = jobs_of([log.pk for log in inside])
            answer.write("".join(render_row(log, jobs.get(log.pk)) for log in inside))
        return answer

    def is_on(self, *pages: str) -> bool:
        """Whether one of ``pages`` (paths) asks."""
        htmx: HtmxDetails = self.request.htmx  # type: ignore[attr-defined]
        return htmx.current_url_abs_path is not None and htmx.current_url_abs_path.partition("?")[0] in pages


class UploadDecide(RowPage):
    """A person says which instrument it was, and the file is read again."""

    model = Upload
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("campaign__site",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = InstrumentChoiceForm(request.POST, campaign=self.found.campaign, person=self.person)
        back = redirect(reverse("upload", args=[self.found.key]))
        if not form.is_valid():
            messages.error(request, NOT_OURS)
            return back
        chosen = form.cleaned_data["instrument"]
        try:
            upload_decisions.choose_instrument(self.found, chosen, self.person)
        except ValidationError as refused:
            messages.error(request, refused.messages[0])
        else:
            messages.success(request, "The file is read again.")
        return back


class UploadAccept(RowPage):
    """A person says that the file is right although something speaks against it."""

    model = Upload
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("campaign__site",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            upload_decisions.accept(self.found, self.person)
        except ValidationError as refused:
            messages.error(request, refused.messages[0])
        else:
            messages.success(request, "Noted, with your name. The file is read again.")
        return redirect(reverse("upload", args=[self.found.key]))
