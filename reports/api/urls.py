from __future__ import annotations

from rest_framework.routers import SimpleRouter

from reports.api import views

router = SimpleRouter()
router.register("criteria", views.Criteria, basename="api-criterion")
router.register("results", views.Results, basename="api-result")
router.register("findings", views.Findings, basename="api-finding")
router.register("reports", views.Reports, basename="api-report")

urlpatterns = router.urls
