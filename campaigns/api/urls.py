from __future__ import annotations

from rest_framework.routers import SimpleRouter

from campaigns.api import campaigns, instruments, places

router = SimpleRouter()
router.register("sites", places.SiteViewSet, basename="api-site")
router.register("buildings", places.BuildingViewSet, basename="api-building")
router.register("floors", places.FloorViewSet, basename="api-floor")
router.register("zones", places.ZoneViewSet, basename="api-zone")
router.register("rooms", places.RoomViewSet, basename="api-room")
router.register("points", places.PointViewSet, basename="api-point")
router.register("instruments", instruments.InstrumentViewSet, basename="api-instrument")
router.register("campaigns", campaigns.CampaignViewSet, basename="api-campaign")
router.register("deployments", campaigns.DeploymentViewSet, basename="api-deployment")

urlpatterns = router.urls
