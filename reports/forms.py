"""Forms: for a group of similar exposure, and what signing and withdrawing ask."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from campaigns import access
from campaigns.forms.base import RowForm, RowsField
from campaigns.forms.texts import SeenText
from campaigns.models import Deployment, User
from campaigns.services import password_tries
from reports.models import ExposureGroup
from reports.services.exposure_groups import change, make


class ExposureGroupForm(RowForm[ExposureGroup]):
    """A group, and which deployments are its samples."""

    samples = RowsField(
        Deployment.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="One per shift or task. Results that are not comparable with the criterion are left out and named.",
    )

    fieldsets = (
        ("The group", "People whose exposures are alike for the same reasons.", ("name", "likeness")),
        ("Held against", "", ("criterion", "sampling", "sampling_error")),
        ("Samples", "", ("samples",)),
    )

    class Meta:
        model = ExposureGroup
        fields = ("name", "likeness", "criterion", "sampling", "sampling_error")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        campaign = self.instance.campaign
        criterion, samples = self.fields["criterion"], self.fields["samples"]
        assert isinstance(criterion, forms.ModelChoiceField)
        assert isinstance(samples, forms.ModelMultipleChoiceField)
        criterion.queryset = campaign.criteria.select_related("limit")
        deployments = access.visible(self.person, Deployment).filter(campaign=campaign)
        samples.queryset = deployments.select_related("instrument", "point__room")
        zone = campaign.site.zone_info
        samples.choices = [(d.pk, f"{d}, {d.starts_at.astimezone(zone):%Y-%m-%d %H:%M}") for d in samples.queryset]
        if self.instance.pk:
            self.initial["samples"] = [sample.deployment_id for sample in self.instance.samples.all()]

    def keep(self) -> ExposureGroup:
        group, samples = self.instance, self.cleaned_data["samples"]
        return make(group, samples) if self.adding else change(group, samples, **self.changed())


class ProvenForm(SeenText, forms.Form):
    """Whoever sends it proves that it is they: a browser left open signs nothing, and withdraws nothing."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "This is done with your password."},
    )

    def __init__(self, *args: Any, person: User, host: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person, self.host = person, host

    def clean(self) -> dict[str, Any]:
        """The password last, and only where nothing else is wrong: each try counts."""
        cleaned = super().clean() or self.cleaned_data
        if not self.errors:
            try:
                password_tries.prove(self.person, cleaned["password"], self.host)
            except ValidationError as refused:
                self.add_error("password", refused)
        return cleaned
