"""Forms of quality control: a run, and the acceptance limits of a campaign."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from campaigns.forms.base import RowForm, RowsField
from campaigns.forms.times import LocalTimeField
from campaigns.models import Campaign, ChannelSpec, Instrument, QualityRun, User
from campaigns.services import acceptance_limits, quality_runs
from methods.quality.acceptance import MEASURES
from methods.quantities.digits import as_entered
from methods.quantities.substances import SUBSTANCES


class QualityRunForm(RowForm[QualityRun]):
    """Which instruments stood together, or drew zero air, and when. Times are on the clock of the site."""

    instruments = RowsField(
        queryset=Instrument.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        help_text="Side by side: all that stood there. Zero air: one; enter a run for each.",
    )
    starts_at = LocalTimeField(label="Start")
    ends_at = LocalTimeField(label="End")
    free_of = forms.MultipleChoiceField(
        label="Zero air is free of",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="For zero air only. Air behind a particle filter still holds its gases. Nothing ticked: free of all "
        "gases and particles.",
    )

    class Meta:
        model = QualityRun
        fields = ("kind", "starts_at", "ends_at", "place", "note")

    field_order = ("kind", "instruments", "starts_at", "ends_at", "place", "free_of", "note")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.zoned(self.instance.campaign.site.zone_info)
        if self.instance.pk is not None:
            self.initial["instruments"] = [member.instrument_id for member in self.instance.members.all()]
        field = self.fields["instruments"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        field.empty_label = None  # nothing to tick
        field.queryset = Instrument.objects.filter(organisation=self.instance.campaign.site.organisation_id)
        self._offer_parameters(self.instance.campaign.site.organisation_id)

    def _offer_parameters(self, organisation: int) -> None:
        """What the instruments of the house measure and zero air can be free of."""
        specs = ChannelSpec.objects.filter(instrument_type__organisation=organisation)
        measured = set(specs.order_by().values_list("parameter", flat=True)) | set(self.instance.free_of_codes)
        zero = QualityRun(kind=QualityRun.Kind.ZERO)
        field = self.fields["free_of"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [
            (code, SUBSTANCES[code].name) for code in SUBSTANCES if code in measured and zero.tells_of(code)
        ]
        self.initial["free_of"] = self.instance.free_of_codes

    def clean_free_of(self) -> str:
        return " ".join(self.cleaned_data["free_of"])

    def _get_validation_exclusions(self) -> set[str]:
        return super()._get_validation_exclusions() | {"instruments"}  # kept by the service, through its own rows

    def keep(self) -> QualityRun:
        entered = self.values(*quality_runs.RunChanges.__annotations__)
        chosen = list(self.cleaned_data["instruments"])
        if self.adding:
            return quality_runs.make(self.instance.campaign, chosen, **entered)
        return quality_runs.change(self.instance, chosen, **entered)

    def _save_m2m(self) -> None:
        """Nothing: the service has kept them."""


class AcceptanceForm(forms.Form):
    """One number for each measure, in per cent; left empty, there is no limit."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, campaign: Campaign, person: User) -> None:
        super().__init__(data)
        self.campaign, self.person = campaign, person
        held = acceptance_limits.in_force(campaign)
        for code, measure in MEASURES.items():
            self.fields[code] = forms.FloatField(
                label=f"{measure.name}, {measure.comparison} (%)",
                required=False,
                min_value=0.1,
                max_value=1000,
                help_text=f"Per cent {measure.of}. Common practice, no source: {as_entered(measure.usual)}.",
                widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
            )
            percent = held[code].percent if code in held else None
            self.initial[code] = None if percent is None else as_entered(percent)

    def stored(self) -> int | None:
        """How many were set anew; None, with the reason in the form, when they cannot be."""
        if not self.is_valid():
            return None
        try:
            return acceptance_limits.put(self.campaign, self.cleaned_data, self.person)
        except ValidationError as refused:
            self.add_error(None, refused)
            return None
