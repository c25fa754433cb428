"""Times as people write them: on the clock of the place, and nothing guessed where that clock is doubtful."""

from __future__ import annotations

from datetime import UTC, date, datetime, tzinfo
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.dateparse import parse_datetime

from methods.quantities.moments import OUT_OF_REACH, is_within_reach

SKIPPED = "%(time)s did not happen there: the clocks were put forward over it."
TWICE = "%(time)s happened twice there: the clocks were put back over it. Choose a time outside that hour."


def within_reach(day: date) -> None:
    """Raises ValidationError for a day in a year that nobody can mean."""
    if not is_within_reach(day):
        raise ValidationError(OUT_OF_REACH, code="out-of-reach")


def moment(wall: datetime, zone: tzinfo) -> datetime:
    """The moment, in UTC, at which clocks in ``zone`` showed ``wall``.

    Raises ValidationError for a time that clocks skipped or showed twice.
    """
    first, second = wall.replace(tzinfo=zone, fold=0), wall.replace(tzinfo=zone, fold=1)
    moment = first.astimezone(UTC)
    if moment.astimezone(zone).replace(tzinfo=None) != wall:
        raise ValidationError(SKIPPED, code="skipped", params={"time": f"{wall:%H:%M}"})
    if first.utcoffset() != second.utcoffset():
        raise ValidationError(TWICE, code="twice", params={"time": f"{wall:%H:%M}"})
    return moment


class LocalTimeInput(forms.DateTimeInput):
    input_type = "datetime-local"

    def format_value(self, value: Any) -> str | None:
        if isinstance(value, datetime):
            return value.isoformat(timespec="seconds" if value.second else "minutes")
        return super().format_value(value)


class LocalTimeField(forms.DateTimeField):
    """A time on the clock of ``zone``. The form sets ``zone`` and, on a stored row, ``kept``: the stored moment.

    What is sent back as it was shown stays as it was stored: a stored time in the hour that happened twice, or with
    parts of a second, survives a change to another field.
    """

    widget = LocalTimeInput
    zone: tzinfo = UTC
    kept: datetime | None = None

    def prepare_value(self, value: Any) -> Any:
        return value.astimezone(self.zone).replace(tzinfo=None) if _aware(value) else value

    def to_python(self, value: Any) -> datetime | None:
        if value in self.empty_values:
            return None
        if isinstance(value, datetime):
            return value if _aware(value) else moment(value, self.zone)
        text = str(value).strip()
        try:
            wall = parse_datetime(text) if ":" in text else None  # a day alone is not taken for its midnight
        except ValueError:
            wall = None
        if wall is None:
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        within_reach(wall)
        if _aware(wall):
            return wall.astimezone(UTC)
        return self.kept if self.kept and self._as_shown(wall) else moment(wall, self.zone)

    def _as_shown(self, wall: datetime) -> bool:
        shown = self.prepare_value(self.kept)
        return bool(shown.replace(microsecond=0) == wall)


def _aware(value: Any) -> bool:
    return isinstance(value, datetime) and value.tzinfo is not None
