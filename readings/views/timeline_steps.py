"""What people do on the timeline. Each answers with the timeline as it is then, and says what was done or why not."""

from __future__ import annotations

from typing import Any, ClassVar
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns.models import Deployment
from methods.placing import CannotEdit
from readings.forms import timeline as forms
from readings.models import TimelineStep
from readings.services import timeline
from readings.services.timeline import Who
from readings.views.timeline import OnTimeline


class StepPage(OnTimeline):
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, instrument: Any, **kwargs: Any) -> HttpResponse:
        row = self.one(instrument)
        if not self.may_do:
            raise Http404
        who = self.who(row)
        form = self.form(who)
        stays: Deployment | None = None
        if not form.is_valid():
            messages.error(request, f"Nothing was changed. {form.told}")
        else:
            try:
                messages.success(request, self.do(who, form))
            except CannotEdit as reason:
                messages.error(request, f"Nothing was changed. {reason}")
                stays = form.cleaned_data.get("deployment")
        return redirect(self.back(row.key, stays))

    @property
    def may_do(self) -> bool:
        return self.may_edit

    def back(self, instrument: Any, chosen: Deployment | None) -> str:
        """The same view of the timeline; after a refusal with the deployment still chosen."""
        asked = {"instrument": instrument}
        if parameter := self.request.POST.get("parameter", ""):
            asked["parameter"] = parameter
        if chosen is not None:
            asked["deployment"] = chosen.key
        return f"{reverse('timeline', args=[self.found.key])}?{urlencode(asked)}"

    def form(self, who: Who) -> Any:
        raise NotImplementedError

    def do(self, who: Who, form: Any) -> str:
        """Do it and say what was done. Raises CannotEdit."""
        raise NotImplementedError


class TimelineMove(StepPage):
    def form(self, who: Who) -> Any:
        return forms.MoveForm(self.request.POST, who=who, row=forms.asked_row(who, self.request.POST))

    def do(self, who: Who, form: Any) -> str:
        given = form.cleaned_data
        step = timeline.move(who, given["deployment"], given["starts_at"], given["ends_at"], given["seen"])
        return step.said if step else "Both times are as they were."


class TimelineSplit(StepPage):
    def form(self, who: Who) -> Any:
        return forms.SplitForm(self.request.POST, who=who)

    def do(self, who: Who, form: Any) -> str:
        given = form.cleaned_data
        return timeline.split(who, given["deployment"], given["at"], given["point"]).said


class TimelineMerge(StepPage):
    def form(self, who: Who) -> Any:
        return forms.MergeForm(self.request.POST, who=who)

    def do(self, who: Who, form: Any) -> str:
        return timeline.merge(who, form.cleaned_data["deployment"], form.cleaned_data["second"]).said


class TimelineCreate(StepPage):
    def form(self, who: Who) -> Any:
        return forms.CreateForm(self.request.POST, who=who)

    def do(self, who: Who, form: Any) -> str:
        given = form.cleaned_data
        return timeline.create(who, (given["point"], given["starts_at"], given["ends_at"])).said


class TimelineRemove(StepPage):
    @property
    def may_do(self) -> bool:
        return self.may_remove_stays

    def form(self, who: Who) -> Any:
        return forms.RemoveForm(self.request.POST, who=who)

    def do(self, who: Who, form: Any) -> str:
        return timeline.remove(who, form.cleaned_data["deployment"]).said


class TimelineAccept(StepPage):
    def form(self, who: Who) -> Any:
        return forms.AcceptForm(self.request.POST, who=who)

    def do(self, who: Who, form: Any) -> str:
        return timeline.accept(who, form.visits).said


class TimelineUndo(StepPage):
    def form(self, who: Who) -> Any:
        return forms.StepForm(self.request.POST, who=who)

    def do(self, who: Who, form: Any) -> str:
        step: TimelineStep = timeline.undo(who, form.cleaned_data["step"])
        return f"Taken back: {step.said}"


class TimelineRedo(StepPage):
    def form(self, who: Who) -> Any:
        return forms.StepForm(self.request.POST, who=who)

    def do(self, who: Who, form: Any) -> str:
        step: TimelineStep = timeline.redo(who, form.cleaned_data["step"])
        return f"Done again: {step.said}"
