from __future__ import annotations

from django.urls import path
from rest_framework.routers import SimpleRouter

from readings.api import uploads, views

router = SimpleRouter()
router.register("uploads", uploads.Uploads, basename="api-upload")

urlpatterns = [*router.urls, path("readings/", views.Readings.as_view(), name="api-reading-list")]
