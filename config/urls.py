"""Every address of Fanlight, app by app."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path

from config.health import counted, health, ready

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("campaigns.urls")),
    path("", include("readings.urls")),
    path("", include("reports.urls")),
    path("", include("reports.urls_released")),
    path("api/v1/", include("config.api")),
    path("health/", health, name="health"),
    path("ready/", ready, name="ready"),
    path("metrics/", counted, name="metrics"),
]

handler500 = "config.errors.server_error"
