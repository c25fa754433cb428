"""Pages of collecting."""

from __future__ import annotations

from django.urls import path

from readings.views import uploads

urlpatterns = [
    path("campaigns/<uuid:key>/uploads/", uploads.Uploads.as_view(), name="uploads"),
    path("uploads/<uuid:key>/", uploads.UploadPage.as_view(), name="upload"),
    path("uploads/<uuid:key>/row/", uploads.UploadRow.as_view(), name="upload-row"),
    path("uploads/<uuid:key>/decide/", uploads.UploadDecide.as_view(), name="upload-decide"),
    path("uploads/<uuid:key>/original/", uploads.UploadOriginal.as_view(), name="upload-original"),
    path("uploads/<uuid:key>/lines/<int:line>/", uploads.UploadLine.as_view(), name="upload-line"),
]
