"""A person says which sheet of a workbook is read."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns.views.pages import RowPage
from readings.forms.clock import first_message
from readings.forms.sheets import SheetAgainForm, SheetForm
from readings.models import Upload
from readings.services.sheet_choice import NO_SHEET, choose_sheet, read_sheet
from readings.views.reading_anew import READ, OfUpload


class UploadSheet(RowPage):
    """Nothing of the file is stored yet."""

    model = Upload
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("campaign__site",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = SheetForm(request.POST, upload=self.found)
        if not form.is_valid():
            messages.error(request, NO_SHEET)
            return redirect(reverse("upload-layout", args=[self.found.key]))
        try:
            choose_sheet(self.found, form.cleaned_data["sheet"], self.person)
        except ValidationError as refused:
            messages.error(request, first_message(refused))
        else:
            messages.success(request, f"The sheet “{form.cleaned_data['sheet']}” is read now.")
        return redirect(reverse("upload-layout", args=[self.found.key]))


class UploadAgainSheet(OfUpload):
    """Readings of another sheet are stored: they are set aside."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = SheetAgainForm(request.POST, upload=self.found)
        if not form.is_valid():
            messages.error(request, str(next(iter(form.errors.values()))[0]))
            return redirect(reverse("upload-again-layout", args=[self.found.key]))
        said = form.cleaned_data
        try:
            new = read_sheet(self.found, said["sheet"], said["reason"], self.person)
        except ValidationError as refused:
            messages.error(request, first_message(refused))
            return redirect(reverse("upload-again-layout", args=[self.found.key]))
        messages.success(request, READ)
        return self.to(new)
