"""What every endpoint shares: read only, through the one door, and strict about what it is asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, ClassVar, Generic, TypeVar
from uuid import UUID

from django.db.models import Model, Q, QuerySet
from django.http import Http404
from rest_framework import serializers, viewsets
from rest_framework.exceptions import ValidationError
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.views import APIView

from campaigns import access
from campaigns.api.params import DeclaredFilters, Filter, read_key, refuse_unknown
from campaigns.api.schema import Operations
from campaigns.models import ApiToken

M = TypeVar("M", bound=Model)


class Negotiation(DefaultContentNegotiation):
    """``?format=`` with an unknown word is a wrong parameter, not a missing page."""

    def filter_renderers(self, renderers: Iterable[BaseRenderer], format: str) -> list[BaseRenderer]:
        able = list(renderers)
        matching = [renderer for renderer in able if renderer.format == format]
        if not matching:
            raise ValidationError({"format": [f"“{format}” is none of: {', '.join(r.format or '' for r in able)}."]})
        return matching


class Strict(APIView):
    """Only GET and HEAD, and no parameter that is not known.

    scope: what the token must have (campaigns.models.Scope), or ``tokens.ANY``.
    """

    scope: ClassVar[str]
    http_method_names = ["get", "head"]
    content_negotiation_class = Negotiation
    schema = Operations()

    def known_parameters(self) -> set[str]:
        return set()

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method in ("GET", "HEAD"):
            refuse_unknown(request.query_params, {"format", *self.known_parameters()})


class ReadOnly(Strict, viewsets.ReadOnlyModelViewSet[M], Generic[M]):
    """A list and its rows. The rows always come from ``access.visible``.

    related, prefetch: what the serializer reads of other tables, so that the number of queries does not grow.
    """

    model: type[M]
    filters: ClassVar[Mapping[str, Filter]] = {}
    related: ClassVar[tuple[str, ...]] = ()
    prefetch: ClassVar[tuple[str, ...]] = ()
    filter_backends = [DeclaredFilters]
    lookup_field = "key"

    def get_queryset(self) -> QuerySet[M]:
        rows = access.visible(self.request.auth, self.model)
        return rows.select_related(*self.related).prefetch_related(*self.prefetch)

    def get_object(self) -> M:
        try:
            key = read_key(self.kwargs["key"])
        except ValueError:
            raise Http404 from None
        row = self.get_queryset().filter(key=key).first()
        if row is None:
            raise Http404
        return row

    def known_parameters(self) -> set[str]:
        if self.detail:
            return set()
        return {*self.filters, "cursor", "page_size"}


class RowSerializer(serializers.ModelSerializer[M]):
    # A row as it is shown: every field is always there, and none can be written. (A docstring would be printed under
    # every component of the OpenAPI document.)
    def get_extra_kwargs(self) -> dict[str, Any]:
        return {name: {"read_only": True} for name in self.Meta.fields}


def key_of(path: str, **more: Any) -> serializers.UUIDField:
    """A field with the key of the row at ``path`` (dotted)."""
    return serializers.UUIDField(source=f"{path}.key", read_only=True, **more)


def named(token: ApiToken, model: type[M]) -> QuerySet[M]:
    """Rows of the token's organisation that a parameter may name, whatever the token's scopes.

    For choosing only: a token that may read readings must be able to say of which campaign without being allowed to
    read campaigns. What is answered needs the scope of the endpoint.
    """
    door = access.registered()[model]
    return model._default_manager.filter(Q(**{door.organisation: token.organisation_id}))


def named_or_404(token: ApiToken, model: type[M], key: UUID, *related: str) -> M:
    row = named(token, model).select_related(*related).filter(key=key).first()
    if row is None:
        raise Http404
    return row
