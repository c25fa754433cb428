"""Plan images from hostile files: what comes in is never what is kept or shown. Pure: bytes in, bytes out."""

from __future__ import annotations

from methods.floorplans.images.intake import MOST_BYTES, ImageRefused, PlanImage, understand

__all__ = ["MOST_BYTES", "ImageRefused", "PlanImage", "understand"]
