from __future__ import annotations

from django.urls import path
from rest_framework.routers import SimpleRouter

from readings.api import uploads, views

router = SimpleRouter()
router.register("uploads", uploads.UploadViewSet, basename="api-upload")

urlpatterns = [*router.urls, path("readings/", views.ReadingViewSet.as_view(), name="api-reading-list")]
