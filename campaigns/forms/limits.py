"""Forms of judging: own limits, and what to look for among the published ones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from django import forms

from campaigns.forms.base import OwnForm
from campaigns.forms.texts import SeenText
from campaigns.models import Limit
from campaigns.models.parameters import parameter_choices
from campaigns.services import own_limits
from methods.limits.catalogue import STARTER_SETS, jurisdictions, parameters
from methods.limits.model import LimitDefinition as LibraryLimit
from methods.limits.sets import sets
from methods.quantities.substances import SUBSTANCES

SCOPE_CHOICES = [
    ("", "anybody"),
    ("dwelling", "people in dwellings"),
    ("public", "people in offices, schools and public buildings"),
    ("workplace", "workers"),
    ("outdoor", "outdoor air"),
    ("certification", "voluntary schemes and acceptance tests"),
]
SET_KINDS = {code: label for code, label in SCOPE_CHOICES if code}


def limited_choices() -> list[tuple[str, str]]:
    """What published limits are about."""
    return [(code, SUBSTANCES[code].name) for code in parameters()]


class OwnLimitForm(OwnForm[Limit]):
    """A limit of the house's own: a client's specification, a project's target."""

    averaging = forms.ChoiceField(label="Averaged as", choices=Limit.Averaging.choices)
    averaging_minutes = forms.IntegerField(
        label="Averaging time",
        min_value=1,
        required=False,
        help_text="Minutes. Empty only for the mean over the time of use of a day.",
    )
    occupied = forms.ChoiceField(
        label="Time of use",
        required=False,
        choices=[("", "all time counts"), *Limit.Occupied.choices],
        help_text="Of what is not “all time” a timetable of use says when it is.",
    )
    value = forms.DecimalField(max_digits=14, decimal_places=6)

    fieldsets = (
        (
            "The value",
            "",
            ("organisation", "parameter", "value", "unit", "strict", "tolerance", "reference_temperature_c"),
        ),
        (
            "Averaging",
            "A limit holds for a time; readings are averaged over it.",
            ("averaging", "averaging_minutes", "occupied"),
        ),
        ("Where it is written", "", ("body", "document")),
    )

    class Meta:
        model = Limit
        fields = (
            "organisation", "parameter", "value", "unit", "strict", "tolerance", "reference_temperature_c", "averaging",
            "averaging_minutes", "occupied", "body", "document",
        )  # fmt: skip
        labels = {"reference_temperature_c": "Reference temperature"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if "organisation" in self.fields:  # only published limits belong to nobody
            self.fields["organisation"].required = True
        self.instance.code = own_limits.code_of(self.instance)

    def keep(self) -> Limit:
        entered = self.values(*own_limits.LimitTerms.__annotations__)
        if self.adding:
            assert self.instance.organisation is not None  # the form requires it
            return own_limits.make(self.instance.organisation, **entered)
        return own_limits.change(self.instance, **entered)


class LimitFilter(SeenText, forms.Form):
    """What to look for. Missing and wrong values fall back to the first choice: an address may have been typed."""

    use_required_attribute = False

    parameter = forms.ChoiceField(choices=parameter_choices)
    population = forms.ChoiceField(label="About", choices=SCOPE_CHOICES)
    text = forms.CharField(label="Words", max_length=100)
    superseded = forms.BooleanField(label="also superseded and drafts")

    def chosen(self, parameter: str) -> dict[str, Any]:
        """Cleaned values, with ``parameter`` where none was asked for."""
        self.is_valid()
        return {
            "parameter": self.cleaned_data.get("parameter") or parameter,
            "population": self.cleaned_data.get("population") or "",
            "text": self.cleaned_data.get("text") or "",
            "superseded": bool(self.cleaned_data.get("superseded")),
        }


class StarterForm(forms.Form):
    """A starter set: the limits in force for such a place that a campaign of hours or days may be judged by."""

    starter = forms.ChoiceField(
        label="For", choices=[(name, label) for name, label in SCOPE_CHOICES if name in STARTER_SETS]
    )
    jurisdiction = forms.ChoiceField(
        label="Country",
        required=False,
        choices=[("", "anywhere"), *((code, code) for code in jurisdictions())],
        help_text="Also takes what applies above it: European, international.",
    )
    parameters = forms.MultipleChoiceField(
        label="Parameters", choices=limited_choices, widget=forms.CheckboxSelectMultiple
    )


class SetForm(forms.Form):
    """A whole set of limits, as one document holds them."""

    limit_set = forms.ChoiceField(
        label="Set", choices=[(one.code, f"{one.title} ({SET_KINDS[one.kind]})") for one in sets().values()]
    )
    parameters = forms.MultipleChoiceField(
        label="Only these parameters",
        choices=limited_choices,
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="None chosen: all of the set.",
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="whole_%s")  # the starter set has a field of the same name

    def limits(self, on: date) -> tuple[LibraryLimit, ...]:
        """The limits of the set that was chosen, as far as in force ``on`` that day; only after ``is_valid``."""
        return sets()[self.cleaned_data["limit_set"]].of(self.cleaned_data["parameters"], on)


class EditionsForm(SeenText, forms.Form):
    """Edition and page of each of ``limits``; both or none of the two."""

    def __init__(self, limits: Sequence[Limit], data: Any = None) -> None:
        super().__init__(data)
        self.limits = limits
        for limit in limits:
            self.fields[f"edition_{limit.key}"] = forms.CharField(label="Edition", max_length=100, required=False)
            self.fields[f"page_{limit.key}"] = forms.CharField(label="Page", max_length=60, required=False)

    @property
    def groups(self) -> list[dict[str, Any]]:
        """A group for each limit."""
        return [
            {"legend": str(limit), "note": limit.document, "fields": [self[name] for name in _names(limit)]}
            for limit in self.limits
        ]

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        for limit in self.limits:
            told = {name: said.get(name, "") for name in _names(limit)}
            if any(told.values()) and not all(told.values()):
                empty = next(name for name, value in told.items() if not value)
                self.add_error(empty, "Edition and page are told together.")
        return said

    def confirmed(self) -> Iterator[tuple[Limit, str, str]]:
        """Limits that were filled in, each with edition and page; only after ``is_valid``."""
        for limit in self.limits:
            edition, page = (self.cleaned_data[name] for name in _names(limit))
            if edition:
                yield limit, edition, page


def _names(limit: Limit) -> tuple[str, str]:
    return f"edition_{limit.key}", f"page_{limit.key}"
