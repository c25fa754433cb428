"""The base of all forms: narrowed to what the person may see, and one voice for model and database."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, ClassVar, TypeVar, cast
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ObjectDoesNotExist, ValidationError
from django.db.models import Model

from campaigns import access
from campaigns.forms.texts import SeenText
from campaigns.forms.times import LocalTimeField, within_reach
from campaigns.models import User
from campaigns.services import integrity, records
from campaigns.services.ownership import organisation_id_of

M = TypeVar("M", bound=Model)
CHOOSE, NONE = "Choose one", "None"
Fieldset = tuple[str, str, tuple[str, ...]]  # legend, note, field names


class Grouped(SeenText):
    """Long forms come in fieldsets; ``parts/form.html`` takes them from ``groups``."""

    fieldsets: ClassVar[Sequence[Fieldset]] = ()

    @property
    def groups(self) -> list[dict[str, Any]]:
        return [
            {"legend": legend, "note": note, "fields": [self[name] for name in names if name in self.fields]}
            for legend, note, names in self.fieldsets
        ]


class RowsField(forms.ModelMultipleChoiceField[M]):
    """Several rows to choose from. Also a number that no row of the database can have is one that is not there."""

    def clean(self, value: Any) -> Any:
        try:
            return super().clean(value)
        except OverflowError as error:
            told = self.error_messages["invalid_choice"]
            raise ValidationError(told, code="invalid_choice", params={"value": "This number"}) from error


class RowForm(Grouped, forms.ModelForm[M]):
    """A form for one row.

    Choices of other rows are what the person may see of the row's own organisation: others are neither offered nor
    taken. Fields that the view has set (the parent) take part in the constraints although they are not shown.
    """

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self._as_read = dict(vars(self.instance))  # before Django writes what was entered into the row
        for field in self.fields.values():
            if isinstance(field, forms.ModelChoiceField):
                self._narrow(field)
                field.empty_label = CHOOSE if field.required else NONE
            elif isinstance(field, forms.ChoiceField):
                offered: Any = field.choices
                field.choices = [(code, label if code != "" else CHOOSE) for code, label in offered]
            elif isinstance(field, forms.DateField):
                field.widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
                field.validators.append(within_reach)

    def stored(self) -> bool:
        """Have the row kept. False, with the reason at its field, if it cannot be."""
        if not self.is_valid():
            return False
        try:
            self.instance = self.keep()
        except ValidationError as refused:
            self.show_refused(refused)
            return False
        return True

    def keep(self) -> M:
        """Ask the service whose rule it is to keep the row. Raises ValidationError."""
        if self.adding:
            return records.save_new(self.instance)
        return records.save_changed(self.instance, **self.changed())

    @property
    def adding(self) -> bool:
        return self.instance.pk is None

    def values(self, *names: str) -> dict[str, Any]:
        """What was entered in these fields, for a service; those that are not asked for here are left out."""
        return {name: self.cleaned_data[name] for name in names if name in self.fields}

    def changed(self) -> dict[str, Any]:
        """The fields of the row that are others by now than when it was read, for ``records.save_changed``."""
        set_now = vars(self.instance)
        fields = self._meta.model._meta.concrete_fields
        return {
            f.name: getattr(self.instance, f.name) for f in fields if set_now[f.attname] != self._as_read[f.attname]
        }

    def zoned(self, zone: ZoneInfo) -> None:
        """All times of this form are on the clock of ``zone``."""
        for name, field in self.fields.items():
            if isinstance(field, LocalTimeField):
                field.zone = zone
                kept = getattr(self.instance, name, None) if self.instance.pk else None
                field.kept = kept if isinstance(kept, datetime) else None
                if not field.help_text:
                    field.help_text = f"Clock time in {zone.key}."

    def _narrow(self, field: forms.ModelChoiceField[Any]) -> None:
        assert field.queryset is not None
        model = field.queryset.model
        rows = access.visible(self.person, model)
        door = access.registered().get(model)
        organisation_id = self.organisation_id()
        if door and door.organisation and organisation_id is not None:
            rows = rows.filter(**{door.organisation: organisation_id})
        field.queryset = rows

    def organisation_id(self) -> int | None:
        """The organisation of the row, as soon as it is known."""
        try:
            return organisation_id_of(self.instance)
        except (AttributeError, ObjectDoesNotExist):
            return None

    # --- one voice for the model and the database ---

    def _get_validation_exclusions(self) -> set[str]:
        excluded = cast("set[str]", super()._get_validation_exclusions())  # type: ignore[misc]
        return {name for name in excluded if name in self.fields or getattr(self.instance, name, None) is None}

    def _post_clean(self) -> None:
        """As Django does, then each constraint's message is moved beside its field."""
        super()._post_clean()  # type: ignore[misc]
        if loose := self.errors.pop(NON_FIELD_ERRORS, None):
            self.show_refused(ValidationError(loose.as_data()))

    def show_refused(self, refused: ValidationError) -> None:
        """Each reason beside the field it is about, as far as it is shown."""
        for field, problem in integrity.beside(self._meta.model, refused, set(self.fields)):
            self.add_error(field, problem)


class OwnForm(RowForm[M]):
    """For rows that belong to the organisation itself. People who plan for several organisations say for which."""

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        field = cast("forms.ModelChoiceField[Any]", self.fields["organisation"])
        if self.instance.pk is not None:
            del self.fields["organisation"]
            return
        field.queryset = access.working_organisations(person)
        mine = list(field.queryset[:2])
        if len(mine) == 1:
            self.instance.organisation = mine[0]  # type: ignore[attr-defined]
            del self.fields["organisation"]
            for other in self.fields.values():
                if isinstance(other, forms.ModelChoiceField):
                    self._narrow(other)
