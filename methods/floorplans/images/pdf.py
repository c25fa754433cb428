"""The first page of a PDF as a picture, rendered in a process of its own with limits on time and memory."""

from __future__ import annotations

import subprocess
from pathlib import Path

from methods.floorplans.images.apart import run
from methods.floorplans.images.pdf_page import ENCRYPTED, SECONDS, TOO_LARGE
from methods.floorplans.images.plan_image import ImageRefused
from methods.quantities.digits import as_entered

_PROGRAM = Path(__file__).with_name("pdf_page.py")
_WHY = {
    ENCRYPTED: "The PDF asks for a password. Save it without one.",
    TOO_LARGE: "The page of the PDF is larger than any sheet of paper. Save the plan on a smaller page.",
}


def first_page(content: bytes, seconds: float = SECONDS) -> bytes:
    """PNG bytes of the first page, at 200 dpi or 4096 px, whichever is smaller. Raises ImageRefused."""
    try:
        code, page = run(_PROGRAM, content, seconds)
    except subprocess.TimeoutExpired as error:
        raise ImageRefused(
            f"The PDF was not drawn within {as_entered(seconds)} s. Save the page as PNG and take that."
        ) from error
    if code or not page:
        raise ImageRefused(_WHY.get(code, "The PDF is broken and its first page cannot be drawn."))
    return page
