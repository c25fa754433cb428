"""Limits to choose from, and the criteria a campaign has chosen.

Published limits live in data files (methods.limits) and are mirrored here so that criteria can point at them and a
consultant can confirm a row against the document. A client's own specification is a row of its organisation.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils import timezone

from campaigns.models.base import Record
from campaigns.models.campaigns import Campaign
from campaigns.models.parameters import NamesParameter
from campaigns.models.people import Organisation, User
from methods.limits import model as library
from methods.limits.loader import load
from methods.quantities.digits import in_digits
from methods.quantities.substances import SUBSTANCES
from methods.quantities.unit_names import BELOW_ZERO


def today() -> date:
    """The day on which limits are said to be in force or not, where no other is asked about."""
    return timezone.localdate()


def in_force_on(day: date) -> Q:
    """The condition on rows of limits that ``Limit.in_force_on`` is of one."""
    begun = Q(valid_from__isnull=True) | Q(valid_from__lte=day)
    return begun & (Q(valid_to__isnull=True) | Q(valid_to__gte=day)) & Q(is_standing=True)


class Limit(NamesParameter, Record):
    """One value with one averaging time. ``organisation`` is empty for published limits."""

    list_route: ClassVar[str | None] = "limits"
    page_route: ClassVar[str | None] = "limit"

    class Averaging(models.TextChoices):
        """What a person may choose for a limit of their own."""

        ROLLING = library.Averaging.ROLLING_MEAN.value, "worst mean over any window of this length"
        SAMPLE = library.Averaging.SAMPLE_MEAN.value, "mean over a sample of this length"
        SHIFT = library.Averaging.SHIFT_TWA.value, "work shift, weighted to this length"

    class Occupied(models.TextChoices):
        """Of a limit for occupied time; left empty: all time counts."""

        TIME = library.Occupied.TIME.value, "only the time of use"
        DAY = library.Occupied.DAY.value, "the mean over the time of use of a day"

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, null=True, blank=True, related_name="limits"
    )
    code = models.CharField(max_length=60)
    body = models.CharField("issued by", max_length=200)
    document = models.CharField(max_length=400)
    value = models.DecimalField(max_digits=14, decimal_places=6, null=True)
    strict = models.BooleanField("must be below", default=False, help_text="Otherwise the value itself still meets it.")
    averaging = models.CharField(max_length=20)
    averaging_minutes = models.PositiveIntegerField(null=True, blank=True)
    occupied = models.CharField(
        "time of use",
        max_length=10,
        choices=Occupied.choices,
        blank=True,
        help_text="Left empty: all time counts. Otherwise a timetable of use says when that is.",
    )
    reference_temperature_c = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="For mass units. Empty: 25 °C is assumed and said.",
    )
    tolerance = models.DecimalField(
        max_digits=4,
        decimal_places=3,
        null=True,
        blank=True,
        help_text="As a share, where the rule itself lets a result pass its value by so much: 0.2 for 20 %.",
    )
    text = models.CharField(max_length=500, blank=True, editable=False)
    needs_check = models.BooleanField(default=True, editable=False)
    is_standing = models.BooleanField(
        default=True, editable=False, help_text="Neither superseded nor a draft; the dates are another matter."
    )
    valid_from = models.DateField(null=True, editable=False)
    valid_to = models.DateField(null=True, editable=False)

    class Meta:
        ordering = ("parameter", "body", "averaging_minutes", "code")
        constraints = (
            models.UniqueConstraint(
                fields=("code",),
                condition=Q(organisation__isnull=True),
                name="limit_code_once",
                violation_error_message="There is already a published limit with this code.",
            ),
            models.UniqueConstraint(
                fields=("organisation", "code"),
                condition=Q(organisation__isnull=False),
                name="limit_own_code_once",
                violation_error_message="You already have a limit with this code.",
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=True) | Q(value__gte=0) | Q(unit__in=BELOW_ZERO),
                name="limit_value_not_negative",
                violation_error_message="A limit is not below zero.",
            ),
            models.CheckConstraint(
                condition=Q(tolerance__isnull=True) | (Q(tolerance__gt=0) & Q(tolerance__lt=1)),
                name="limit_tolerance_is_a_share",
                violation_error_message="A tolerance is a share between 0 and 1, such as 0.2.",
            ),
        )

    def __str__(self) -> str:
        return self.text or self.as_library().text()

    def clean(self) -> None:
        parameter = SUBSTANCES.get(self.parameter)
        if parameter and self.unit not in parameter.units:
            raise ValidationError({"unit": f"{parameter.name} is limited in {' or '.join(parameter.units)}."})

    @property
    def in_force(self) -> bool:
        """Today."""
        return self.in_force_on(today())

    def in_force_on(self, day: date) -> bool:
        begun = self.valid_from is None or self.valid_from <= day
        return self.is_standing and begun and (self.valid_to is None or day <= self.valid_to)

    @property
    def published(self) -> bool:
        return self.organisation_id is None

    def as_library(self) -> library.LimitDefinition:
        """The limit as the pure judging modules take it."""
        if self.published:
            return load()[self.code]
        return own_limit(self)


STATISTICS = {
    library.Averaging.ROLLING_MEAN: "worst {} mean",
    library.Averaging.SAMPLE_MEAN: "mean over a sample of {}",
    library.Averaging.SHIFT_TWA: "shift, weighted to {}",
}


OCCUPIED = {
    None: "{}",
    library.Occupied.TIME: "{}, in the time of use",
    library.Occupied.DAY: "mean over the time of use of a day",
}


def own_limit(row: Limit) -> library.LimitDefinition:
    """A limit that an organisation entered itself, in the form of a published one."""
    averaging = library.Averaging(row.averaging)
    occupied = library.Occupied(row.occupied) if row.occupied else None
    minutes = row.averaging_minutes
    length = f"{minutes} min" if minutes is None or minutes < 120 else f"{in_digits(minutes / 60)} h"
    return replace(
        _BLANK,
        code=row.code,
        row=row.code,
        source="entered by the consultant",
        body=row.body,
        document=row.document,
        parameter=row.parameter,
        operator=library.Operator.BELOW if row.strict else library.Operator.AT_MOST,
        value=Decimal(str(row.value)).normalize() if row.value is not None else None,
        unit=row.unit,
        averaging=averaging,
        averaging_minutes=minutes,
        statistic=OCCUPIED[occupied].format(STATISTICS[averaging].format(length)),
        occupied=occupied,
        temperature_c=row.reference_temperature_c,
        reference_stated=row.reference_temperature_c is not None,
        tolerance=None if row.tolerance is None else Decimal(str(row.tolerance)).normalize(),
    )


_BLANK = library.LimitDefinition(
    code="", row="", source="", body="", jurisdiction="own", document="", edition="", clause="", parameter="",
    bound=library.Bound.UPPER, operator=library.Operator.AT_MOST, value=None, low=None, high=None, unit="",
    in_words_pair="", averaging=library.Averaging.ROLLING_MEAN, averaging_minutes=None, statistic="",
    population="as the client's specification says", scopes=(library.PopulationScope.CERTIFICATION,),
    comparable=library.Comparable.YES, short_campaign=library.Claim.COMPARE, reason_code="hours",
    laboratory=library.Claim.COMPARE, outdoor_rule=library.OutdoorRule.ABSOLUTE, rounding=library.Rounding.NONE,
    rounding_digits=None, tolerance=None, temperature_c=None, pressure_kpa=None, reference_stated=False,
    actual_conditions=False, equivalent="", status=library.Status.IN_FORCE, valid_from=None, valid_to=None,
    superseded_by="", interim=False, confidence_value=library.Confidence.VERIFIED, confidence_note="", notes="",
)  # fmt: skip


class LimitCheck(Record):
    """Somebody of an organisation has held a published limit against its document, in an edition and on a page.

    A published limit is shared by all; who confirmed it is not, and one house does not answer for another. Checks that
    were noted before edition and page were asked have none.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="limit_checks")
    limit = models.ForeignKey(Limit, on_delete=models.CASCADE, related_name="checks")
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField()
    edition = models.CharField(max_length=100, blank=True)
    page = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ("-at",)
        constraints = (
            models.UniqueConstraint(
                fields=("organisation", "limit"),
                name="limit_check_once",
                violation_error_message="This limit is already confirmed.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.limit}, checked {self.at:%Y-%m-%d}"


class Criterion(Record):
    """A limit chosen for a campaign."""

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="criteria")
    limit = models.ForeignKey(Limit, on_delete=models.PROTECT, related_name="criteria")
    position = models.PositiveSmallIntegerField(default=0, help_text="The lowest one is shown first.")

    class Meta:
        ordering = ("position", "id")
        verbose_name_plural = "criteria"
        constraints = (
            models.UniqueConstraint(
                fields=("campaign", "limit"),
                name="criterion_once",
                violation_error_message="This limit is already chosen.",
            ),
        )

    def __str__(self) -> str:
        return str(self.limit)
