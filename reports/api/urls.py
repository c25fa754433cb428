from __future__ import annotations

from rest_framework.routers import SimpleRouter

from reports.api import views

router = SimpleRouter()
router.register("criteria", views.CriterionViewSet, basename="api-criterion")
router.register("results", views.ResultViewSet, basename="api-result")
router.register("findings", views.FindingViewSet, basename="api-finding")
router.register("reports", views.ReportViewSet, basename="api-report")

urlpatterns = router.urls
