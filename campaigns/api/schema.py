"""What the OpenAPI document says beyond paths and rows: the token, and how the API refuses."""

from __future__ import annotations

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema

DETAIL = {
    "type": "object",
    "required": ["detail"],
    "properties": {"detail": {"type": "string"}},
}
BY_NAME = {"type": "object", "additionalProperties": {"type": "array", "items": {"type": "string"}}}
REFUSALS: dict[str, tuple[str, dict[str, Any]]] = {
    "400": ("A parameter is unknown or cannot be read: what is wrong, by its name.", BY_NAME),
    "401": ("No token, or one that is wrong or has expired.", DETAIL),
    "403": ("The token lacks the scope.", DETAIL),
    "404": ("Nothing of the token's organisation has this key.", DETAIL),
    "429": ("The token asks too often; `Retry-After` says for how many seconds to wait.", DETAIL),
}


class Operations(AutoSchema):
    """Every operation also says how it refuses."""

    def get_operation(self, *args: Any, **kwargs: Any) -> dict[str, Any] | None:
        operation = super().get_operation(*args, **kwargs)
        if operation:
            for code, (about, schema) in REFUSALS.items():
                content = {"application/json": {"schema": schema}}
                operation["responses"].setdefault(code, {"description": about, "content": content})
        described: dict[str, Any] | None = operation
        return described


class TokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "campaigns.api.tokens.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer", "description": "An API token: `Authorization: Bearer fl_…`"}
