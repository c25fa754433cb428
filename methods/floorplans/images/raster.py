"""Pictures made of pixels: read within limits and drawn anew, so that nothing but the picture stays."""

from __future__ import annotations

import io
import warnings

from PIL import Image, ImageOps

from methods.floorplans.images.plan_image import LONGEST_PX, MOST_PIXELS, ImageRefused, PlanImage

FORMATS = ("PNG", "JPEG", "WEBP")
BROKEN = "The picture is broken and cannot be read. Save it again and try that file."


def redrawn(content: bytes) -> PlanImage:
    """The picture in ``content`` encoded anew without metadata, at most 4096 px long. Raises ImageRefused."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            picture, was_jpeg = _decoded(content)
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
            raise ImageRefused(_too_many()) from error
        except ImageRefused:
            raise
        except (OSError, SyntaxError, ValueError, MemoryError, EOFError) as error:
            raise ImageRefused(BROKEN) from error
    held = io.BytesIO()
    if was_jpeg:
        picture.save(held, "JPEG", quality=88)
    else:
        picture.save(held, "PNG")
    return PlanImage("jpeg" if was_jpeg else "png", held.getvalue(), picture.width, picture.height)


def _decoded(content: bytes) -> tuple[Image.Image, bool]:
    with Image.open(io.BytesIO(content), formats=FORMATS) as looked_at:
        if looked_at.width * looked_at.height > MOST_PIXELS:
            raise ImageRefused(_too_many())
        looked_at.verify()
    with Image.open(io.BytesIO(content), formats=FORMATS) as opened:  # verify() uses a picture up
        was_jpeg = opened.format == "JPEG"
        ImageOps.exif_transpose(opened, in_place=True)
        plain = opened.convert("RGB" if was_jpeg or not opened.has_transparency_data else "RGBA")
    plain.thumbnail((LONGEST_PX, LONGEST_PX))
    # A new picture takes the pixels alone: no EXIF, no colour profile, no text.
    fresh = Image.new(plain.mode, plain.size)
    fresh.paste(plain)
    return fresh, was_jpeg


def _too_many() -> str:
    return f"The picture has more than {MOST_PIXELS // 1_000_000} million pixels. Save the plan smaller."
