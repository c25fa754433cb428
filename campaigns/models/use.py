"""When people use a place, as limits for occupied time ask for it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from campaigns.models.base import Record
from campaigns.models.campaigns import Campaign
from campaigns.models.people import User
from campaigns.models.places import Building, Site, Zone
from methods.averages.occupancy import Timetable
from methods.averages.timetable_text import UnreadableTimetable, read, written

NOT_IN_USE = "Say at least one time of use."
#: One of these fields says where it holds, the narrowest first.
PLACES = ("zone", "building", "campaign")


def _one_place() -> Q:
    """Exactly one of the three is filled in."""
    of_each = [{f"{name}__isnull": name != filled for name in PLACES} for filled in PLACES]
    return Q(**of_each[0]) | Q(**of_each[1]) | Q(**of_each[2])


def _once(place: str, where: str) -> models.UniqueConstraint:
    return models.UniqueConstraint(
        fields=(place,),
        condition=Q(**{f"{place}__isnull": False}),
        name=f"use_timetable_once_per_{place}",
        violation_error_message=f"This {where} already has a timetable of use: change that one.",
    )


class UseTimetable(Record):
    """When a zone, a building or the place of a campaign is in use: the zone's own counts, else its building's, else
    the campaign's."""

    route_word: ClassVar[str] = "use-timetable"

    class Origin(models.TextChoices):
        TOLD = "told", "told by those who use the place"
        COUNTED = "counted", "presence was counted"
        ASSUMED = "assumed", "assumed: usual for such a place"

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="use_timetables", editable=False)
    campaign = models.ForeignKey(
        Campaign, on_delete=models.CASCADE, related_name="use_timetables", null=True, blank=True, editable=False
    )
    building = models.ForeignKey(
        Building, on_delete=models.CASCADE, related_name="use_timetables", null=True, blank=True, editable=False
    )
    zone = models.ForeignKey(
        Zone, on_delete=models.CASCADE, related_name="use_timetables", null=True, blank=True, editable=False
    )
    hours = models.TextField("time of use", help_text="One entry a line, on the clock of the site.")
    origin = models.CharField("who says so", max_length=10, choices=Origin.choices, default=Origin.TOLD)
    note = models.CharField(max_length=300, blank=True, help_text="Who said it and when, or how presence was counted.")
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+", editable=False)

    class Meta:
        ordering = ("id",)
        verbose_name = "timetable of use"
        verbose_name_plural = "timetables of use"
        constraints = (
            models.CheckConstraint(
                condition=_one_place(),
                name="use_timetable_of_one_place",
                violation_error_message="A timetable of use is of one zone, one building or one campaign.",
            ),
            _once("zone", "zone"),
            _once("building", "building"),
            _once("campaign", "campaign"),
        )

    def __str__(self) -> str:
        return f"Time of use of {self.lies_in}"

    @property
    def lies_in(self) -> Any:
        return self.zone or self.building or self.campaign

    @property
    def timetable(self) -> Timetable:
        return read(self.hours)

    @property
    def is_assumed(self) -> bool:
        return self.origin == self.Origin.ASSUMED

    def clean(self) -> None:
        """Keeps the hours in the one form they are written in."""
        self.set_site()
        try:
            timetable = read(self.hours)
        except UnreadableTimetable as refused:
            raise ValidationError({"hours": str(refused)}) from refused
        if timetable.is_empty:
            raise ValidationError({"hours": NOT_IN_USE})
        self.hours = written(timetable)

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.set_site()
        super().save(*args, **kwargs)

    def set_site(self) -> None:
        if self.zone_id and self.zone:
            self.site = self.zone.floor.building.site
        elif self.building_id and self.building:
            self.site = self.building.site
        elif self.campaign_id and self.campaign:
            self.site = self.campaign.site
