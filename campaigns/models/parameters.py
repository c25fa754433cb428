"""What a channel or a limit is about: a row of the table of substances, in one of its units."""

from __future__ import annotations

from django.db import models

from methods.quantities.substances import SUBSTANCES, UNITS, Substance, grouped, name_of


def parameter_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """The table as it stands, the usual ones first: asked anew by each form, so no migration lists codes."""
    return grouped()


def unit_choices() -> list[tuple[str, str]]:
    return [(unit, unit) for unit in UNITS]


class NamesParameter(models.Model):
    """``parameter`` is a code of the table. ``parameter_name`` is its name, or the code where the row is gone."""

    parameter = models.CharField(max_length=20, choices=parameter_choices)
    unit = models.CharField(max_length=10, choices=unit_choices)

    class Meta:
        abstract = True

    @property
    def substance(self) -> Substance:
        """KeyError for a code that the table does not have."""
        return SUBSTANCES[self.parameter]

    @property
    def parameter_name(self) -> str:
        return name_of(self.parameter)
