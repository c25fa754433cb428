"""The plan of a floor as the drawing page reads and saves it."""

from __future__ import annotations

from campaigns.services.floor_plans.images import drop_image, put_image
from campaigns.services.floor_plans.saving import DrawingRefused, Outdated, save
from campaigns.services.floor_plans.state import state_of

__all__ = ["DrawingRefused", "Outdated", "drop_image", "put_image", "save", "state_of"]
