"""Forms of agreeing with a client: a consultant writes and records, a person of the client answers."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from campaigns.forms.base import RowForm
from campaigns.forms.times import LocalTimeField
from campaigns.models import Agreement
from campaigns.services import agreements
from methods.wording.agreements import UNDECIDED_STARTS

WORDS = ("question", "decision", "undecided")
HAVE_READ = "I have read what is agreed, and its scope."


class AgreementForm(RowForm[Agreement]):
    """The words of a draft. Limits, rule and scope are those of the campaign."""

    starts = forms.MultipleChoiceField(
        label="Sentences to begin with",
        required=False,
        choices=[(sentence, sentence) for sentence in UNDECIDED_STARTS],
        widget=forms.CheckboxSelectMultiple,
        help_text="What is ticked comes first, then your own words.",
    )

    fieldsets = (
        ("What is asked", "", ("question", "decision")),
        (
            "Where the rule decides nothing",
            "Between the two levels a result is undecided. Say now what then follows, and who pays for it.",
            ("starts", "undecided"),
        ),
    )

    class Meta:
        model = Agreement
        fields = WORDS

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["undecided"].label = "In your own words"
        self.fields["undecided"].required = False
        for name in WORDS:
            self.fields[name].widget.attrs["rows"] = 4

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        said = [*cleaned.get("starts", ()), cleaned.get("undecided", "").strip()]
        cleaned["undecided"] = "\n".join(line for line in said if line)
        if not cleaned["undecided"]:
            self.add_error("undecided", "Say what follows where nothing can be decided.")
        return cleaned

    def keep(self) -> Agreement:
        words: Any = self.values(*WORDS)
        if self.adding:
            return agreements.draft(self.instance.campaign, self.person, **words)
        return agreements.change(self.instance, self.person, **words)


class Answer(forms.Form):
    """``seen``: the digest of what the page showed, so that what is answered is what was read."""

    seen = forms.CharField(widget=forms.HiddenInput, max_length=64)


class AcceptAgreementForm(Answer):
    confirm = forms.BooleanField(label=HAVE_READ, error_messages={"required": "Nothing is accepted without this."})


class DeclineAgreementForm(Answer):
    comment = forms.CharField(
        label="What should be different",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": agreements.NO_COMMENT},
    )


class RecordAcceptanceForm(Answer):
    """An acceptance that was not given on the client's page."""

    name = forms.CharField(label="Who accepted", max_length=200, help_text="The person of the client, by name.")
    at = LocalTimeField(label="When")
    how = forms.CharField(
        label="How", max_length=200, help_text="Such as: signed on paper, by e-mail, on the telephone."
    )

    def __init__(self, *args: Any, zone: ZoneInfo, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        at = self.fields["at"]
        assert isinstance(at, LocalTimeField)
        at.zone, at.help_text = zone, f"Clock time in {zone.key}."
