from __future__ import annotations

from rest_framework.routers import SimpleRouter

from campaigns.api import campaigns, instruments, places

router = SimpleRouter()
router.register("sites", places.Sites, basename="api-site")
router.register("buildings", places.Buildings, basename="api-building")
router.register("floors", places.Floors, basename="api-floor")
router.register("zones", places.Zones, basename="api-zone")
router.register("rooms", places.Rooms, basename="api-room")
router.register("points", places.Points, basename="api-point")
router.register("instruments", instruments.Instruments, basename="api-instrument")
router.register("campaigns", campaigns.Campaigns, basename="api-campaign")
router.register("deployments", campaigns.Deployments, basename="api-deployment")

urlpatterns = router.urls
