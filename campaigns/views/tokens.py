"""API tokens: made, shown once, revoked."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse

from campaigns.access import CONSULTANTS
from campaigns.forms.people import TokenForm
from campaigns.links import list_link
from campaigns.models import ApiToken, TokenScope
from campaigns.views.pages import AddOwnPage, DeletePage, ListPage


class Tokens(ListPage):
    model = ApiToken
    roles = CONSULTANTS
    title = "API tokens"
    caption = "Programs that read through the API. They can change nothing."
    columns = [
        {"label": "Token"},
        {"label": "May read"},
        {"label": "Stops working"},
        {"label": "Last used"},
        {"label": ""},
    ]
    empty = ("No API tokens yet", "A token lets a program read what you choose, until you revoke it.")

    def rows(self) -> Any:
        return super().rows().select_related("made_by")

    def cells(self, row: Any) -> list[Any]:
        ends = "never" if row.expires_at is None else f"{row.expires_at:%Y-%m-%d %H:%M} UTC"
        return [
            {"text": row.name, "note": f"made by {row.made_by}" if row.made_by else ""},
            ", ".join(str(TokenScope(scope).label) for scope in row.scopes),
            f"{ends} (over)" if row.expired else ends,
            f"{row.last_used_at:%Y-%m-%d %H:%M} UTC" if row.last_used_at else "not yet",
            {"actions": [{"label": "Revoke", "url": f"{row.key}/delete/"}]},
        ]


class TokenAdd(AddOwnPage):
    model, form_class = ApiToken, TokenForm
    submit_label = "Make the token"

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        row = self.row()
        form = self.form(row, request.POST)
        assert isinstance(form, TokenForm)
        if not form.stored():
            return self.show_form(row, form, status=422)
        # Shown in the answer itself: the secret is kept nowhere, so there is nothing to redirect to.
        self.template_name = "campaigns/token_made.html"
        return self.show(title="Token made", crumbs=[list_link(ApiToken)], token=form.instance, secret=form.secret)


class TokenDelete(DeletePage):
    model = ApiToken
    verb = "Revoke"
