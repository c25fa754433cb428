"""Forms of the timeline. Times are on the clock of the site, or carry an offset as the page's script sends them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.dateparse import parse_datetime

from campaigns.forms.campaigns import points_of
from campaigns.forms.times import LocalTimeField
from campaigns.links import is_key
from campaigns.models import Deployment, SamplingPoint
from campaigns.services.planned_points import grouped
from readings.models import TimelineStep
from readings.services.timeline import Who
from readings.services.timeline.edits import Visit
from readings.services.timeline.proposals import unmeasured

Seen = tuple[datetime, datetime | None]


def seen_text(row: Deployment) -> str:
    """Start and end as they are shown, for noticing that they have changed meanwhile."""
    return f"{row.starts_at.isoformat()}|{row.ends_at.isoformat() if row.ends_at else ''}"


def asked_row(who: Who, data: Any) -> Deployment | None:
    """The deployment that was sent along, if it is one of the timeline."""
    key = data.get("deployment", "")
    return who.rows().filter(key=key).first() if is_key(key) else None


class _Choice(forms.ModelChoiceField[Any]):
    """A row of the timeline, by its key."""

    def __init__(self, *, label: str = "", **more: Any) -> None:
        super().__init__(None, to_field_name="key", label=label, **more)
        self.error_messages["invalid_choice"] = "It is no longer there: look at the timeline again."


class TimelineForm(forms.Form):
    """Narrowed to the deployments of ``who``, to the points of the site, and to its clock."""

    def __init__(self, *args: Any, who: Who, row: Deployment | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        self.who = who
        zone = who.campaign.site.zone_info
        for name, field in self.fields.items():
            if isinstance(field, LocalTimeField):
                field.zone = zone
                field.kept = getattr(row, name, None)
                field.widget.attrs["step"] = "1"
            elif name in ("deployment", "second"):
                field.queryset = who.rows()  # type: ignore[attr-defined]
            elif name == "point":
                field.queryset = SamplingPoint.objects.filter(site=who.campaign.site_id)  # type: ignore[attr-defined]

    def offer(self, parameter: str, first: str = "Choose a point") -> TimelineForm:
        """The points to choose from: those of the plan that were not measured yet first, in the order of the plan."""
        field = self.fields["point"]
        assert isinstance(field, forms.ModelChoiceField)
        open_ = unmeasured(self.who.campaign, parameter)
        taken = {point.pk for point in open_}
        choices: list[Any] = [("", first)]
        if open_:
            choices.append(("Planned, not measured yet", [(point.key, str(point)) for point in open_]))
        for group in grouped(points_of(self.who.campaign, self.who.person)):
            label = f"{group.name} ({group.where})" if group.where else group.name
            if rest := [(point.key, str(point)) for point in group.points if point.pk not in taken]:
                choices.append((label, rest))
        field.choices = choices
        return self

    @property
    def told(self) -> str:
        """What is wrong with it, in one line."""
        return " ".join(str(message) for messages in self.errors.values() for message in messages)


class MoveForm(TimelineForm):
    deployment = _Choice(widget=forms.HiddenInput)
    seen = forms.CharField(widget=forms.HiddenInput)
    starts_at = LocalTimeField(label="Start")
    ends_at = LocalTimeField(label="End", required=False, help_text="Empty: it is still there.")

    def clean_seen(self) -> Seen:
        start, _, end = self.cleaned_data["seen"].partition("|")
        try:
            times = parse_datetime(start), parse_datetime(end) if end else None
        except ValueError:
            times = None, None
        if times[0] is None or times[0].tzinfo is None or (end and (times[1] is None or times[1].tzinfo is None)):
            raise ValidationError("It cannot be told what was seen: look at the timeline again.")
        return times[0], times[1]


class SplitForm(TimelineForm):
    deployment = _Choice(widget=forms.HiddenInput)
    at = LocalTimeField(label="At")
    point = _Choice(label="From then on at", required=False)


class MergeForm(TimelineForm):
    deployment = _Choice(widget=forms.HiddenInput)
    second = _Choice(widget=forms.HiddenInput)


class RemoveForm(TimelineForm):
    deployment = _Choice(widget=forms.HiddenInput)


class CreateForm(TimelineForm):
    point = _Choice(label="Point")
    starts_at = LocalTimeField(label="Start")
    ends_at = LocalTimeField(label="End", required=False, help_text="Empty: it is still there.")


class StepForm(TimelineForm):
    """Which step the person means: the one that the page showed as the last."""

    step = _Choice(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        own = TimelineStep.objects.filter(campaign=self.who.campaign, instrument=self.who.instrument)
        self.fields["step"].queryset = own  # type: ignore[attr-defined]


class AcceptForm(forms.Form):
    """Proposals that are taken: rows ``n`` of ``take``, each with ``point-n``, ``start-n`` and ``end-n``."""

    def __init__(self, data: Any, *, who: Who) -> None:
        super().__init__(data)
        self.who = who
        self.rows = [CreateForm(_row(data, number), who=who) for number in data.getlist("take")]

    def clean(self) -> dict[str, Any]:
        for row in self.rows:
            if not row.is_valid():
                raise ValidationError(row.told)
        return {}

    @property
    def visits(self) -> list[Visit]:
        return [
            (row.cleaned_data["point"], row.cleaned_data["starts_at"], row.cleaned_data["ends_at"]) for row in self.rows
        ]

    @property
    def told(self) -> str:
        return " ".join(str(message) for message in self.non_field_errors())


def _row(data: Any, number: str) -> dict[str, str]:
    return {
        name: data.get(f"{part}-{number}", "")
        for name, part in (("point", "point"), ("starts_at", "start"), ("ends_at", "end"))
    }
