"""The clock of an instrument: what is known of it, what its logs say, and what a person decides."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.links import is_key, trail
from campaigns.models import ClockCheck, ClockReset, Instrument
from campaigns.services import clock_resets
from campaigns.services.instrument_state import zone_of
from campaigns.views.pages import RowPage
from readings.forms.clock import ConfirmForm, ResetForm, TwinForm, first_message
from readings.models import ClockLag, Upload
from readings.pages import clock as told
from readings.queries.bursts import Laid, laid
from readings.queries.clock_facts import clock_in
from readings.services import clock_confirmation, clock_review, upload_decisions

#: So many logs are listed, newest first.
LISTED = 20


class OfInstrument(RowPage):
    model = Instrument
    related: ClassVar[tuple[str, ...]] = ("type", "organisation")

    def logs(self) -> Any:
        """The logs of the instrument that were read and that the person may see."""
        rows = access.visible(self.person, Upload).filter(instrument=self.found, first_stamp_ms__isnull=False)
        rows = rows.exclude(state=Upload.State.WITHDRAWN)
        return rows.select_related("campaign__site", "instrument__type").order_by("-created_at", "-pk")

    def log(self, key: Any) -> Laid:
        row = self.logs().filter(key=key).first()
        laid_log = laid(row) if row is not None else None
        if laid_log is None:
            raise Http404
        return laid_log

    def back(self, log: Upload | None = None) -> HttpResponse:
        query = f"?log={log.key}" if log else ""
        return redirect(reverse("instrument-clock", args=[self.found.key]) + query)


class ClockPage(OfInstrument):
    """?log= with the key of a log looks at that one; else at the first that waits for a word, else at the newest."""

    template_name = "readings/clock.html"

    @cached_property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.chosen.upload.campaign.site.time_zone if self.chosen else zone_of(self.found))

    @cached_property
    def all(self) -> list[Laid]:
        rows = list(self.logs()[:LISTED])
        asked = self.request.GET.get("log", "")
        if is_key(asked) and asked not in {str(row.key) for row in rows}:
            rows += list(self.logs().filter(key=asked))
        return [laid_log for row in rows if (laid_log := laid(row)) is not None]

    @cached_property
    def chosen(self) -> Laid | None:
        asked = self.request.GET.get("log", "")
        waiting = set(
            self.logs()
            .filter(state=Upload.State.ATTENTION, problems__code__in=clock_review.CODES)
            .values_list("pk", flat=True)
        )
        order = sorted(
            self.all, key=lambda laid_log: (str(laid_log.upload.key) != asked, laid_log.upload.pk not in waiting)
        )
        return order[0] if order else None

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        instrument, chosen = self.found, self.chosen
        answers = list(access.visible(self.person, ClockReset).filter(instrument=instrument))
        rows = list(access.visible(self.person, ClockCheck).filter(instrument=instrument).order_by("at"))
        clock = chosen.clock if chosen else clock_in(instrument, self.zone.key)
        return self.show(
            title=f"Clock of {instrument.name}",
            kicker="Instrument",
            crumbs=trail(instrument),
            instrument=instrument,
            basis=told.basis_words(clock.basis, instrument),
            zone=self.zone.key,
            may_change=self.may_change,
            may_check=access.may_add(self.person, ClockCheck, instrument.organisation_id),
            may_remove_checks=access.may_remove(self.person, ClockCheck, instrument.organisation_id),
            checks=told.checks(rows, clock, self.zone),
            log=chosen.upload if chosen else None,
            deployed=bool(chosen and len(chosen.spans)),
            stretches=told.stretches(chosen, self.zone) if chosen else [],
            resets=told.resets(chosen, answers, self.zone) if chosen else [],
            answers=[(answer, told.answer_words(answer)) for answer in answers],
            lags=list(access.visible(self.person, ClockLag).filter(instrument=instrument).select_related("instrument")),
            logs=told.logs(self.all, self.zone, chosen.upload if chosen else None),
            asked=chosen.upload.problems.filter(code__in=(clock_review.RESET, clock_review.OUTSIDE)) if chosen else [],
        )


class ClockDecision(OfInstrument):
    """A person says something about the clock; whoever may enter clock checks may."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not access.may_add(self.person, ClockCheck, self.found.organisation_id):
            raise Http404
        return self.decide()

    def decide(self) -> HttpResponse:
        raise NotImplementedError


class ClockConfirm(ClockDecision):
    """An offset that bursts give is kept as a clock check."""

    def decide(self) -> HttpResponse:
        form = ConfirmForm(self.request.POST)
        if not form.is_valid():
            messages.error(self.request, "Choose one of the offsets on this page.")
            return self.back()
        laid_log = self.log(form.cleaned_data["log"])
        index = form.cleaned_data["stretch"]
        if index >= len(laid_log.stretches):
            raise Http404
        try:
            check = clock_confirmation.confirm(
                laid_log, laid_log.stretches[index], form.cleaned_data["offset"], self.person
            )
        except clock_confirmation.NotOffered:
            messages.error(self.request, "Clock or deployments have changed meanwhile: look again.")
        except ValidationError as error:
            messages.error(self.request, first_message(error))
        else:
            messages.success(self.request, f"Kept as a clock check. {check.note} Its readings are judged again.")
        return self.back(laid_log.upload)


class ClockAnswer(ClockDecision):
    """Was the clock set here?"""

    def decide(self) -> HttpResponse:
        form = ResetForm(self.request.POST)
        if not form.is_valid():
            messages.error(self.request, first_message(form.errors))
            return self.back()
        laid_log = self.log(form.cleaned_data["log"])
        place = (form.cleaned_data["before"], form.cleaned_data["after"])
        reset = next((reset for reset in laid_log.resets if reset.place == place), None)
        if reset is None:
            messages.error(self.request, "The log or its clock checks have changed meanwhile: look again.")
            return self.back(laid_log.upload)
        try:
            clock_resets.answer(self.found, reset, **form.told)
        except ValidationError as error:
            messages.error(self.request, first_message(error))
        else:
            messages.success(self.request, "Noted. Its readings are placed and judged again.")
        return self.back(laid_log.upload)


class ClockResetWithdraw(RowPage):
    """The answer is taken back, and the place is asked about again. The history keeps that it was there."""

    model = ClockReset
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("instrument",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        instrument = self.found.instrument
        clock_resets.withdraw(self.found)
        messages.success(request, "Withdrawn. The place is asked about again.")
        return redirect("instrument-clock", key=instrument.key)


class UploadDecision(RowPage):
    """A person says something about one log."""

    model = Upload
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("campaign__site", "instrument")
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def back(self) -> HttpResponse:
        return redirect("upload", key=self.found.key)


class UploadOutside(UploadDecision):
    """Readings outside every deployment are left there: an office test, say. Asked once."""

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            upload_decisions.leave_outside(self.found)
        except ValidationError as refused:
            messages.error(request, refused.messages[0])
        else:
            messages.success(request, "Noted: its readings lie outside every deployment, and that is not asked again.")
        return self.back()


class UploadTwin(UploadDecision):
    """Is it the memory of another file again, or another memory?"""

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = TwinForm(request.POST)
        if not form.is_valid():
            messages.error(request, "Say whether it is the same memory or another one.")
            return self.back()
        upload_decisions.say_twin(self.found, form.cleaned_data["twin"], self.person)
        messages.success(request, "Noted. The file is read again.")
        return self.back()
