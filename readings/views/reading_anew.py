"""The way out of wrong answers: a file is read another way, withdrawn or read in again; a stretch is set aside."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.links import is_key, trail
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import HistoryPage, RowPage
from readings.forms.clock import first_message
from readings.forms.reading_anew import InstrumentAgainForm, ReasonForm, StretchForm
from readings.forms.saved_layouts import KeepForm
from readings.forms.sheets import SheetAgainForm
from readings.models import SettingAside, Upload
from readings.pages import reading_anew as pages
from readings.queries import anything_from
from readings.queries.upload_jobs import jobs_of
from readings.services import reading_anew, stretches_aside, upload_decisions, withdrawing
from readings.services.receive import is_running
from readings.services.understanding import OVERTAKEN, RUNNING, standing
from readings.views.layout_page import LayoutLook, UploadLayout, kept_words

READ = "It is read another way now; what was stored before is set aside."
WITHDRAWN = "It is withdrawn. What was stored from it is set aside."


def may_set_aside(person: Any, upload: Upload) -> bool:
    """Whether the person may withdraw files of the house, and set readings aside."""
    return access.may_add(person, SettingAside, organisation_id_of(upload))


class OfUpload(RowPage):
    """Something about one upload, for those who may set its readings aside."""

    model = Upload
    related: ClassVar[tuple[str, ...]] = ("campaign__site", "instrument__type", "kept_layout")

    @cached_property
    def found(self) -> Upload:
        upload: Upload = access.find(self.person, Upload, self.kwargs["key"], related=self.related)
        if not may_set_aside(self.person, upload):
            raise Http404
        return upload

    def frame(self) -> dict[str, Any]:
        upload = self.found
        crumbs = [*trail(upload.campaign), ("Uploads", reverse("uploads", args=[upload.campaign.key]))]
        return {
            "kicker": upload.filename,
            "crumbs": [*crumbs, (upload.filename, reverse("upload", args=[upload.key]))],
            "upload": upload,
        }

    def to(self, upload: Upload) -> HttpResponse:
        return redirect(reverse("upload", args=[upload.key]))


class UploadAgain(OfUpload):
    """Another instrument, another layout, or not at all."""

    template_name = "readings/again.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask()

    def ask(
        self, instrument_form: Any = None, withdraw_form: Any = None, status: int = 200, refused: str = ""
    ) -> HttpResponse:
        upload = self.found
        return self.show(
            status=status,
            title="Read it another way",
            jobs=jobs_of([upload.pk]),
            refused=refused,
            is_stored=bool(upload.stored) or anything_from(upload),
            follows=pages.follows(upload),
            instrument_form=instrument_form
            or InstrumentAgainForm(upload=upload, person=self.person, prefix="instrument"),
            withdraw_form=withdraw_form or ReasonForm(prefix="withdraw"),
            **self.frame(),
        )


class UploadAgainInstrument(UploadAgain):
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = InstrumentAgainForm(request.POST, upload=self.found, person=self.person, prefix="instrument")
        if not form.is_valid():
            return self.ask(instrument_form=form, status=422)
        said = form.cleaned_data
        try:
            new = reading_anew.read_as_of(self.found, said["instrument"], said["reason"], self.person)
        except ValidationError as refused:
            return self.ask(instrument_form=form, status=409, refused=first_message(refused))
        messages.success(request, READ)
        return self.to(new)


class UploadAgainAsItIs(UploadAgain):
    """Nothing is set aside: what the instrument has a channel for by now is stored, too."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            upload_decisions.choose_instrument(self.found, None, self.person)
        except ValidationError as refused:
            return self.ask(status=409, refused=first_message(refused))
        messages.success(request, "The file is read again.")
        return self.to(self.found)


class UploadWithdraw(UploadAgain):
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = ReasonForm(request.POST, prefix="withdraw")
        if not form.is_valid():
            return self.ask(withdraw_form=form, status=422)
        told = " ".join((WITHDRAWN, pages.follows(self.found)))
        try:
            withdrawing.withdraw(self.found, form.cleaned_data["reason"], self.person)
        except ValidationError as refused:
            return self.ask(withdraw_form=form, status=409, refused=first_message(refused))
        messages.success(request, told)
        return self.to(self.found)


class UploadReadIn(OfUpload):
    """A withdrawn file, as it was read before."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            new = reading_anew.read_in_again(self.found, self.person)
        except ValidationError as refused:
            messages.error(request, first_message(refused))
            return self.to(self.found)
        messages.success(request, "It is read in again, as it was read before.")
        return self.to(new)


class UploadAgainLayout(UploadLayout):
    """The layout with its questions, although readings are stored that were read with it."""

    form: ReasonForm | None = None

    @cached_property
    def found(self) -> Upload:
        upload: Upload = access.find(self.person, Upload, self.kwargs["key"], related=self.related)
        if not may_set_aside(self.person, upload):
            raise Http404
        return upload

    @cached_property
    def fixed(self) -> str:
        if self.found.withdrawn:
            return withdrawing.WITHDRAWN
        return RUNNING if is_running(self.found) else ""

    def frame(self) -> dict[str, Any]:
        return {
            **super().frame(),
            "title": "Look at the layout again",
            "may_keep": False,
            "again": True,
            "layout_url": reverse("upload-again-layout", args=[self.found.key]),
            "reason_form": self.form or ReasonForm(),
            "sheet_url": reverse("upload-again-sheet", args=[self.found.key]),
            "follows": pages.follows(self.found),
        }

    def sheet_form(self) -> Any:
        return SheetAgainForm(upload=self.found, prefix=None) if super().sheet_form() else None

    def keep_it(self, look: LayoutLook, keep: KeepForm) -> HttpResponse:
        raise Http404  # nothing is kept here without being read

    def read_it(self, look: LayoutLook, keep: KeepForm) -> HttpResponse:
        self.form = ReasonForm(self.request.POST)
        if not self.form.is_valid():
            return self.page(look, keep, status=422)
        if self.request.POST.get("standing", "") != standing(self.found):
            return self.look_again(OVERTAKEN)
        said, reason = keep.cleaned_data, self.form.cleaned_data["reason"]
        name = said["name"] if said["keep"] and self.may_keep else ""
        try:
            new, others = reading_anew.read_with(
                self.found, look.layout, reason, self.person, keep_as=name, represents=said["represents"]
            )
        except ValidationError as refused:
            messages.error(self.request, first_message(refused))
            return self.page(look, keep, status=409)
        messages.success(self.request, f"{READ} {kept_words(name, others)}" if name else READ)
        return redirect(reverse("upload", args=[new.key]))


class UploadAside(RowPage):
    """Stretches of the file that do not count: what there is, and setting another one aside."""

    template_name = "readings/aside.html"
    model = Upload
    related: ClassVar[tuple[str, ...]] = ("campaign__site", "instrument__type")

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        given = {name: request.GET.get(name, "") for name in ("channel", "first", "last")}
        return self.ask(StretchForm(upload=self.found, initial=given))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not self.may_set_aside:
            raise Http404
        form = StretchForm(request.POST, upload=self.found)
        if not form.is_valid():
            return self.ask(form, status=422)
        said = form.cleaned_data
        try:
            made = stretches_aside.set_aside(form.channels, said["first"], said["last"], said["reason"], self.person)
        except ValidationError as refused:
            form.add_error(None, first_message(refused))
            return self.ask(form, status=409)
        count = sum(row.count for row in made)
        messages.success(request, f"Set aside: {count:,} reading{'s' * (count != 1)}.")
        return redirect(reverse("upload-aside", args=[self.found.key]))

    @cached_property
    def may_set_aside(self) -> bool:
        return may_set_aside(self.person, self.found)

    def ask(self, form: StretchForm, status: int = 200) -> HttpResponse:
        upload = self.found
        return self.show(
            status=status,
            title="Set aside",
            kicker=upload.filename,
            subtitle="Readings that do not count. They are kept as they were stored.",
            crumbs=[*trail(upload.campaign), (upload.filename, reverse("upload", args=[upload.key]))],
            upload=upload,
            form=form,
            may_set_aside=self.may_set_aside,
            stretches=pages.stretches(upload, upload.campaign.site.zone_info),
        )


class AsideTakeBack(RowPage):
    """What was set aside counts again."""

    model = SettingAside
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("channel__instrument",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            row = stretches_aside.take_back(self.found, self.person)
        except ValidationError as refused:
            messages.error(request, first_message(refused))
        else:
            messages.success(request, f"{row.count:,} reading{'s' * (row.count != 1)} count again.")
        return redirect(self.back())

    def back(self) -> str:
        """To the file from which it was asked, else to the list of them all."""
        key = self.request.POST.get("upload", "")
        rows = access.visible(self.person, Upload)
        upload = rows.filter(key=key).first() if is_key(key) else None
        return reverse("upload-aside", args=[upload.key]) if upload else reverse("campaigns")


class UploadHistory(HistoryPage):
    model = Upload
    related: ClassVar[tuple[str, ...]] = ("campaign__site",)

    def crumbs(self) -> list[tuple[str, str]]:
        upload = self.found
        return [*trail(upload.campaign), (upload.filename, reverse("upload", args=[upload.key]))]
