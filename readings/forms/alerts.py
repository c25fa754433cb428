"""What is answered to an alert."""

from __future__ import annotations

from django import forms


class DoneForm(forms.Form):
    done = forms.CharField(
        label="What was done",
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=2000,
        help_text="Who left, what was aired or shut off, who was called, what was measured then.",
    )


class CloseForm(forms.Form):
    reason = forms.CharField(
        label="Why it is closed", max_length=300, help_text="One sentence. It is printed in the report."
    )
