"""Calibrations, field checks and clock checks of an instrument."""

from __future__ import annotations

from typing import Any

from campaigns.forms import instruments as forms
from campaigns.forms.base import RowForm
from campaigns.models import Calibration, ClockCheck, FieldCheck, Instrument
from campaigns.services import clock_checks
from campaigns.views.pages import AddPage, DeletePage, EditPage, FormPage, HistoryPage


class OnInstrument(FormPage):
    """The form needs to know the instrument: its channels are the choices, its place says on which clock times are."""

    def form(self, row: Any, data: Any = None) -> RowForm[Any]:
        return self.form_class(data, instance=row, person=self.person, instrument=self.instrument(row))

    def instrument(self, row: Any) -> Instrument:
        instrument = row.lies_in
        assert isinstance(instrument, Instrument)
        return instrument


class CheckAdd(OnInstrument, AddPage):
    """Add to an instrument something that belongs to one of its channels, chosen in the form."""

    parent = Instrument

    def row(self) -> Any:
        assert self.owner  # 404 first
        return self.model()

    def instrument(self, row: Any) -> Instrument:
        instrument: Instrument = self.owner
        return instrument


class CalibrationAdd(CheckAdd):
    model, form_class = Calibration, forms.CalibrationForm


class CalibrationEdit(OnInstrument, EditPage):
    model, form_class = Calibration, forms.CalibrationForm


class CalibrationDelete(DeletePage):
    model = Calibration


class CalibrationHistory(HistoryPage):
    model = Calibration


class FieldCheckAdd(CheckAdd):
    model, form_class = FieldCheck, forms.FieldCheckForm


class FieldCheckEdit(OnInstrument, EditPage):
    model, form_class = FieldCheck, forms.FieldCheckForm


class FieldCheckAccept(EditPage):
    """A person takes the responsibility for what rests on a failed check."""

    model, form_class = FieldCheck, forms.FieldCheckAcceptForm
    cautions = (
        "Results that rest on a failed check are an indication only. Accepted, they count in full again: their "
        "uncertainty stays as large, and who accepted it, when and why is printed with each of them.",
    )

    def heading(self, row: Any) -> dict[str, Any]:
        return super().heading(row) | {"kicker": "Accept a failed check"}


class FieldCheckDelete(DeletePage):
    model = FieldCheck


class FieldCheckHistory(HistoryPage):
    model = FieldCheck


class ClockCheckAdd(CheckAdd):
    model, form_class = ClockCheck, forms.ClockCheckForm

    def row(self) -> Any:
        return ClockCheck(instrument=self.owner)


class ClockCheckEdit(OnInstrument, EditPage):
    model, form_class = ClockCheck, forms.ClockCheckForm


class ClockCheckDelete(DeletePage):
    model = ClockCheck

    def remove(self) -> None:
        clock_checks.remove(self.found)


class ClockCheckHistory(HistoryPage):
    model = ClockCheck
