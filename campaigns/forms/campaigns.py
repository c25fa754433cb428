"""Forms for campaigns, their plan and their deployments."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from campaigns import access
from campaigns.forms.base import RowForm, RowsField
from campaigns.forms.times import LocalTimeField
from campaigns.models import Campaign, Deployment, SamplingPoint, User
from campaigns.services import deployments
from campaigns.services.planned_points import PointGroup, grouped, plan


class CampaignForm(RowForm[Campaign]):
    fieldsets = (
        ("The question", "", ("name", "objective", "protocol")),
        ("When", "", ("starts_on", "ends_on")),
        (
            "How sure a verdict must be",
            "What lies between the two levels is called undecided. With 0.95 and 0.05 one call in twenty may be wrong.",
            ("level_above", "level_below"),
        ),
        (
            "Work shifts",
            "Only for limits that are weighted over a shift. The assumption stands beside every such result.",
            ("shift_hours", "unsampled"),
        ),
        ("Air pressure", "", ("station_pressure_kpa",)),
    )

    class Meta:
        model = Campaign
        fields = (
            "name", "objective", "protocol", "starts_on", "ends_on", "level_above", "level_below", "shift_hours",
            "unsampled", "station_pressure_kpa",
        )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("shift_hours", "unsampled"):  # what is not sent stays as it is
            self.fields[name].required = False


def points_of(campaign: Campaign, person: User) -> list[SamplingPoint]:
    """All points of the campaign's site that the person may see, with all they are part of."""
    rows = access.visible(person, SamplingPoint).filter(site=campaign.site_id)
    return list(rows.select_related("room__zone__floor__building"))


class PlanForm(forms.Form):
    """Which points are to be measured."""

    points = RowsField(SamplingPoint.objects.none(), required=False)

    def __init__(self, *args: Any, campaign: Campaign, person: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.campaign = campaign
        field = self.fields["points"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        field.queryset = access.visible(person, SamplingPoint).filter(site=campaign.site_id)
        field.error_messages["invalid_choice"] = "One of these points is no longer on the site."

    def stored(self) -> tuple[int, int] | None:
        """Points added and taken out; None, with the reason in the form, when it cannot be saved."""
        if not self.is_valid():
            return None
        try:
            return plan(self.campaign, self.cleaned_data["points"], self.places())
        except ValidationError as refused:
            self.add_error("points", refused)
            return None

    def places(self) -> dict[int, int]:
        """Chosen points' ids → numbers in the order of visits, from the fields ``order-<id>``; what is no number is
        left."""
        asked = ((point.pk, self.data.get(f"order-{point.pk}", "")) for point in self.cleaned_data["points"])
        return {pk: int(text) for pk, text in asked if text.isdecimal() and len(text) <= 5}


class DeploymentForm(RowForm[Deployment]):
    """One instrument at one point. Times are on the clock of the site."""

    starts_at = LocalTimeField(label="Start")
    ends_at = LocalTimeField(label="End", required=False)
    switched_on_at = LocalTimeField(label="Switched on", required=False)

    class Meta:
        model = Deployment
        fields = ("point", "instrument", "starts_at", "ends_at", "switched_on_at", "notes")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        campaign = self.instance.campaign
        zone = campaign.site.zone_info
        self.zoned(zone)
        self.fields["ends_at"].help_text = f"Clock time in {zone.key}. Empty: it is still there."
        self.fields[
            "switched_on_at"
        ].help_text = f"Clock time in {zone.key}, if it was switched on for this visit: warm-up counts from then."
        self._offer(points_of(campaign, person), set(campaign.planned_points.values_list("point_id", flat=True)))

    def keep(self) -> Deployment:
        entered = self.values(*deployments.DeploymentChanges.__annotations__)
        if self.adding:
            return deployments.make(self.instance.campaign, **entered)
        return deployments.change(self.instance, **entered)

    def _offer(self, points: list[SamplingPoint], planned: set[int]) -> None:
        field = self.fields["point"]
        assert isinstance(field, forms.ModelChoiceField)
        assert field.queryset is not None
        field.queryset = field.queryset.filter(site=self.instance.campaign.site_id).select_related("room")
        field.choices = [("", "Choose a point"), *(_choices(group, planned) for group in grouped(points))]


def _choices(group: PointGroup, planned: set[int]) -> tuple[str, list[tuple[int, str]]]:
    label = f"{group.name} ({group.where})" if group.where else group.name
    return label, [(p.pk, str(p) if p.pk in planned or not planned else f"{p} (not planned)") for p in group.points]
