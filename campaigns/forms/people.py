"""Forms for clients, people and API tokens."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from campaigns.forms.base import OwnForm, RowForm
from campaigns.models import ApiToken, Client, Membership, Role, TokenScope, User
from campaigns.services.people import add_person, change_role

ROLE_HELP = (
    "Consultants plan, judge and release. Field staff place instruments and upload logs. "
    "A client reads what was released."
)


class ClientForm(OwnForm[Client]):
    class Meta:
        model = Client
        fields = ("organisation", "name")


class PersonForm(OwnForm[Membership]):
    """A new person: address, name, role."""

    email = forms.EmailField(label="E-mail address", help_text="They log in with it.")
    name = forms.CharField(label="Name", required=False, max_length=200)

    class Meta:
        model = Membership
        fields = ("organisation", "role", "client")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.fields["role"].help_text = ROLE_HELP
        self.order_fields(["organisation", "email", "name", "role", "client"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        _client_iff_client_role(self, cleaned)
        return cleaned

    def stored(self) -> bool:
        if not self.is_valid():
            return False
        told, role = self.cleaned_data, self.cleaned_data["role"]
        organisation = self.instance.organisation
        try:
            self.instance = add_person(organisation, told["email"], told["name"], role, told.get("client"))
        except ValidationError as error:
            for field, messages in error.message_dict.items():
                self.add_error(field if field in self.fields else None, messages)
            return False
        return True


class RoleForm(RowForm[Membership]):
    """Another role for somebody who is here."""

    class Meta:
        model = Membership
        fields = ("role", "client")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.fields["role"].help_text = ROLE_HELP

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        _client_iff_client_role(self, cleaned)
        return cleaned

    def stored(self) -> bool:
        if not self.is_valid():
            return False
        try:
            change_role(self.instance)
        except ValidationError as error:
            self.add_error(None, error)
            return False
        return True


def _client_iff_client_role(form: forms.BaseForm, cleaned: dict[str, Any]) -> None:
    """Name the client of a person of a client; for others there is none to name."""
    if cleaned.get("role") == Role.CLIENT and cleaned.get("client") is None and "client" not in form.errors:
        form.add_error("client", "Which client? They read what was released to this client only.")
    if cleaned.get("role") in (Role.CONSULTANT, Role.FIELD) and cleaned.get("client") is not None:
        form.add_error("client", "Only a person of a client has one. Leave it empty.")


class TokenForm(OwnForm[ApiToken]):
    """A new API token. Its secret is made when it is saved, and shown once."""

    scopes = forms.MultipleChoiceField(
        label="May read",
        choices=TokenScope.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text="It can change nothing.",
    )
    last_day = forms.DateField(
        label="Last day",
        required=False,
        help_text="The day, in UTC, after which it stops working. Empty: it does not stop.",
    )

    class Meta:
        model = ApiToken
        fields = ("organisation", "name", "scopes")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.secret = ""
        if self.instance.pk is None:
            self.initial["last_day"] = timezone.now().astimezone(UTC).date() + timedelta(days=365)

    def clean_last_day(self) -> date | None:
        day: date | None = self.cleaned_data["last_day"]
        if day is not None and _midnight_after(day) <= timezone.now():
            raise ValidationError("This day is over.")
        return day

    def save(self, commit: bool = True) -> ApiToken:
        day = self.cleaned_data["last_day"]
        self.instance.made_by = self.person
        self.instance.expires_at = _midnight_after(day) if day else None
        self.secret = self.instance.new_secret()
        return super().save(commit)


def _midnight_after(day: date) -> datetime:
    return datetime.combine(day + timedelta(days=1), time(), UTC)
