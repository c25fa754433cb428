"""A program of its own: the bytes of a picture in, what is kept of it out. Run by ``images.apart``, never imported.

It runs alone so that a picture that unpacks to a gigabyte takes nobody with it. What it says: one line of JSON, and
behind it the bytes of the new picture.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path


def main(kind: str) -> None:
    sys.path.insert(0, str(Path(__file__).resolve().parents[3]))
    from methods.floorplans.images.pdf_page import limited
    from methods.floorplans.images.plan_image import ImageRefused
    from methods.floorplans.images.raster import redrawn
    from methods.floorplans.images.svg import cleaned

    limited()
    content = sys.stdin.buffer.read()
    try:
        image = (cleaned if kind == "svg" else redrawn)(content)
    except ImageRefused as refused:
        sys.stdout.buffer.write(json.dumps({"refused": str(refused)}).encode() + b"\n")
        return
    said = {"kind": image.kind, "size": (image.width_px, image.height_px), "left_out": image.left_out}
    sys.stdout.buffer.write(json.dumps(said).encode() + b"\n" + image.content)


if __name__ == "__main__":
    main(sys.argv[1])
