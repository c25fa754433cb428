"""The form for a plan image."""

from __future__ import annotations

from django import forms

from campaigns.models import Floor
from campaigns.services.floor_plans import put_image
from methods.floorplans.images import MOST_BYTES, ImageRefused, PlanImage


class PlanImageForm(forms.Form):
    file = forms.FileField(
        label="Plan",
        help_text="PNG, JPEG, WebP, SVG, or a PDF of which the first page is taken; up to "
        f"{MOST_BYTES // 1024 // 1024} MB. The picture is drawn anew: notes, names and places hidden in the file are "
        "not kept.",
        widget=forms.FileInput(attrs={"accept": ".png,.jpg,.jpeg,.webp,.svg,.pdf"}),
        max_length=255,
    )

    def stored(self, floor: Floor) -> PlanImage | None:
        """What the image became; None, with the reason at the field, when it was refused."""
        if not self.is_valid():
            return None
        try:
            return put_image(floor, self.cleaned_data["file"])[1]
        except ImageRefused as refused:
            self.add_error("file", str(refused))
            return None
