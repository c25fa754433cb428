"""Which kind of file it is, told by its first bytes and never by its name."""

from __future__ import annotations

from methods.floorplans.images.apart import in_turn, picture_of
from methods.floorplans.images.pdf import first_page
from methods.floorplans.images.plan_image import ImageRefused, PlanImage

__all__ = ["MOST_BYTES", "ImageRefused", "PlanImage", "understand"]

MOST_BYTES = 25 * 1024 * 1024
_LOOKED_AT = 4096


def understand(content: bytes) -> PlanImage:
    """A plan image from the bytes of a PNG, JPEG, WebP, SVG or PDF file (its first page).

    Raises ImageRefused for anything else, and for what is too large, broken or built to do harm.
    """
    if not content:
        raise ImageRefused("The file is empty.")
    if len(content) > MOST_BYTES:
        raise ImageRefused(f"The file is larger than {MOST_BYTES // 1024 // 1024} MB. Save the plan smaller.")
    if content.startswith((b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")) or (
        content[:4] == b"RIFF" and content[8:12] == b"WEBP"
    ):
        with in_turn():
            return picture_of(content, "pixels")
    if content.startswith(b"%PDF-"):
        with in_turn():
            return picture_of(first_page(content), "pixels")
    if content.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") and b"svg" in content[:_LOOKED_AT]:
        with in_turn():
            return picture_of(content, "svg")
    raise ImageRefused("This is not a PNG, JPEG, WebP, SVG or PDF file.")
