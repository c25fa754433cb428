"""The form of a timetable of use: by day, or as a list."""

from __future__ import annotations

from typing import Any

from django import forms

from campaigns.forms.base import RowForm
from campaigns.models import UseTimetable
from campaigns.models.use import NOT_IN_USE
from campaigns.services import use_timetables
from methods.averages.occupancy import Timetable
from methods.averages.timetable_text import WEEKDAYS, UnreadableTimetable, closed_text, hours_text, read, written

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
LIST = "Mon-Fri 08:00-16:00; closed 2026-12-24 to 2027-01-06"


def _day(label: str) -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=200)


def _lines(label: str, example: str, help_text: str) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": 4, "placeholder": example})
    return forms.CharField(label=label, required=False, widget=widget, help_text=help_text)


class UseTimetableForm(RowForm[UseTimetable]):
    """Seven days with their hours, dates that differ, or all of it as a pasted list."""

    monday = _day("Monday")
    tuesday = _day("Tuesday")
    wednesday = _day("Wednesday")
    thursday = _day("Thursday")
    friday = _day("Friday")
    saturday = _day("Saturday")
    sunday = _day("Sunday")
    closed = _lines("Closed", "2026-12-24 to 2027-01-06", "One date a line, or two with “to” between them.")
    special = _lines(
        "Dates with hours of their own",
        "2026-09-15 08:10-12:05, 13:00-15:40",
        "One date a line, with its hours: opened specially, or presence that was counted there. They count instead of "
        "those of the weekday.",
    )
    pasted = _lines("As a list", LIST, "If this is filled in, it replaces all of the above. One entry a line.")

    fieldsets = (
        (
            "By day",
            "From and until on the clock of the site, such as 08:00-12:00, 13:00-16:00. What ends before it begins "
            "ends on the next day: 22:00-07:00. Empty: not in use.",
            DAYS,
        ),
        ("Dates that differ", "", ("closed", "special")),
        ("Or all of it", "", ("pasted",)),
        ("Who says so", "", ("origin", "note")),
    )

    class Meta:
        model = UseTimetable
        fields = ("origin", "note")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk is not None:
            self.initial.update(_told(self.instance.timetable))

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        pasted = cleaned.get("pasted", "")
        if pasted:
            timetable = self._read("pasted", pasted)
        else:
            parts = {name: _lines_of(name, cleaned.get(name, "")) for name in (*DAYS, "closed", "special")}
            for name, lines in parts.items():
                self._read(name, lines)
            timetable = None if self.errors else read("\n".join(parts.values()))
        if timetable is not None and timetable.is_empty:
            self.add_error(None, NOT_IN_USE)
        elif timetable is not None:
            self.instance.hours = written(timetable)
        return cleaned

    def _read(self, name: str, text: str) -> Timetable | None:
        try:
            return read(text)
        except UnreadableTimetable as refused:
            self.add_error(name, str(refused))
            return None

    def _post_clean(self) -> None:
        """The row has no hours to be looked at where they could not be read."""
        if not self.errors:
            super()._post_clean()

    def keep(self) -> UseTimetable:
        told: use_timetables.UseChanges = {"hours": self.instance.hours, "note": self.cleaned_data["note"]}
        if self.adding or "origin" in self.changed_data:
            told["origin"] = self.cleaned_data["origin"]
        if self.adding:
            return use_timetables.make(self.instance.lies_in, self.person, **told)
        return use_timetables.change(self.instance, self.person, **told)


def _lines_of(name: str, text: str) -> str:
    """What stands in a field as entries of a list."""
    lines = [line.strip() for line in text.replace(";", "\n").splitlines() if line.strip()]
    if name in DAYS:
        return "\n".join(f"{WEEKDAYS[DAYS.index(name)]} {line}" for line in lines)
    if name == "closed":
        return "\n".join(line if line.lower().startswith("closed") else f"closed {line}" for line in lines)
    return "\n".join(lines)


def _told(timetable: Timetable) -> dict[str, str]:
    """A timetable as the fields show it."""
    by_day = {name: hours_text(hours) for name, hours in zip(DAYS, timetable.week, strict=True)}
    closed = [closed_text(span).removeprefix("closed ") for span in timetable.closed]
    special = [f"{each.day} {hours_text(each.hours)}" for each in timetable.days]
    return {**by_day, "closed": "\n".join(closed), "special": "\n".join(special)}
