"""What is kept of a plan file, and why a file is refused."""

from __future__ import annotations

from dataclasses import dataclass

MOST_PIXELS = 60_000_000  # an A0 sheet scanned at 200 dpi is 62 million; what is kept is smaller anyway
LONGEST_PX = 4096  # enough to read a dimension on a floor of 100 m, and small enough for a phone


class ImageRefused(ValueError):
    """The file cannot be a plan; the message says why and what to do, for people."""


@dataclass(frozen=True)
class PlanImage:
    """kind: "png", "jpeg" or "svg". content: made here, never the sender's bytes. left_out: what an SVG lost."""

    kind: str
    content: bytes
    width_px: int
    height_px: int
    left_out: tuple[str, ...] = ()
