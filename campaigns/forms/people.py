"""Forms for clients, people and API tokens."""

from __future__ import annotations

from datetime import UTC, date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from campaigns.forms.base import OwnForm, RowForm
from campaigns.models import ApiToken, Client, Membership, TokenScope, User
from campaigns.services import tokens
from campaigns.services.people import add_person, change_role, is_ours, name_the_client

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
        _name_the_client(self, cleaned)
        return cleaned

    def keep(self) -> Membership:
        return add_person(self.instance.organisation, **self.values("email", "name", "role", "client"))


class RoleForm(RowForm[Membership]):
    """Another role for somebody who is here, and their name put right."""

    name = forms.CharField(
        label="Name", required=False, max_length=200, help_text="What they enter and sign stands under this name."
    )

    class Meta:
        model = Membership
        fields = ("role", "client")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.fields["role"].help_text = ROLE_HELP
        self.initial["name"] = self.instance.user.get_full_name()
        if not is_ours(self.instance.user, self.instance.organisation):
            del self.fields["name"]  # other houses know them by it as well
        self.order_fields(["name", "role", "client"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        _name_the_client(self, cleaned)
        return cleaned

    def keep(self) -> Membership:
        return change_role(self.instance, **self.values("role", "client", "name"))


def _name_the_client(form: forms.BaseForm, cleaned: dict[str, Any]) -> None:
    """Beside whatever else is wrong; where the client or the role is wrong itself, that is said and not this."""
    if "client" not in form.errors:
        try:
            name_the_client(cleaned.get("role", ""), cleaned.get("client"))
        except ValidationError as refused:
            form.add_error(None, refused)


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
        tokens.end_of(day)
        return day

    def keep(self) -> ApiToken:
        made = tokens.make(self.instance.organisation, by=self.person, **self.values("name", "scopes", "last_day"))
        self.secret = made.secret
        return made.token
