"""Everything below ``/api/v1/``: include this at that prefix."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, path
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse

import campaigns.api.urls
import readings.api.urls
import reports.api.urls
from campaigns.api.base import Strict
from campaigns.api.tokens import ANY, HasScope
from config.version import VERSION

Patterns = list[URLPattern | URLResolver]

ENDPOINTS: Patterns = [*campaigns.api.urls.urlpatterns, *readings.api.urls.urlpatterns, *reports.api.urls.urlpatterns]

LISTS = {
    "type": "object",
    "properties": {"fanlight": {"type": "string"}},
    "additionalProperties": {"type": "string", "format": "uri"},
}


class Root(Strict):
    """The lists of this API, by name, and which version of Fanlight answers."""

    scope = ANY

    @extend_schema(operation_id="root", responses={200: LISTS})
    def get(self, request: Request) -> Response:
        names = [p.name for p in ENDPOINTS if isinstance(p, URLPattern) and p.name and p.name.endswith("-list")]
        lists = {reverse(name, request=request).rstrip("/").rsplit("/", 1)[-1]: name for name in names}
        lists["schema"] = "api-schema"
        return Response({"fanlight": VERSION} | {word: reverse(name, request=request) for word, name in lists.items()})


class Schema(SpectacularAPIView):
    """The OpenAPI document of this API, for any valid token; closed to the anonymous like everything else here."""

    scope = ANY
    permission_classes = [HasScope]
    http_method_names = ["get", "head"]


urlpatterns: Patterns = [
    path("", Root.as_view(), name="api-root"),
    path("schema/", Schema.as_view(), name="api-schema"),
    *ENDPOINTS,
]
