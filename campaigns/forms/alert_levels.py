"""The form of an alert level."""

from __future__ import annotations

from typing import Any, ClassVar, cast

from django import forms

from campaigns.forms.base import Fieldset, RowForm
from campaigns.models import AlertLevel, Membership
from campaigns.services import alert_levels


class PeopleField(forms.ModelMultipleChoiceField[Membership]):
    def label_from_instance(self, obj: Membership) -> str:
        return f"{obj.user}, {obj.get_role_display().lower()} ({obj.user.email})"


class AlertLevelForm(RowForm[AlertLevel]):
    """A level of the campaign's own, and whom it tells."""

    people = PeopleField(
        label="Whom to tell",
        queryset=Membership.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="By mail, each once. The campaign page and the list of work show every alert in any case.",
    )
    addresses = forms.CharField(
        label="Other addresses",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="E-mail addresses of others who are told, one a line. The text of the mail is all they get.",
    )

    fieldsets: ClassVar[tuple[Fieldset, ...]] = (
        (
            "The level",
            "An alert errs to the safe side: a reading over range counts as above, and of a time that the log does "
            "not cover a quarter is enough.",
            ("parameter", "value", "unit", "reference_temperature_c", "averaging", "minutes"),
        ),
        ("Whom to tell", "", ("people", "addresses", "within_minutes")),
        ("What is said", "", ("advice", "source")),
    )

    class Meta:
        model = AlertLevel
        fields = (
            "parameter", "value", "unit", "averaging", "minutes", "reference_temperature_c", "addresses",
            "within_minutes", "advice", "source",
        )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast("PeopleField", self.fields["people"])
        field.empty_label = None  # nobody is chosen by choosing nobody
        field.queryset = alert_levels.may_be_told(self.instance.campaign)
        if self.instance.pk is not None:
            field.initial = list(self.instance.people.values_list("pk", flat=True))

    def keep(self) -> AlertLevel:
        people = self.cleaned_data["people"]
        entered = self.values(*self._meta.fields or ())
        if self.adding:
            return alert_levels.make(self.instance.campaign, people, **entered)
        return alert_levels.change(self.instance, people, **entered)
