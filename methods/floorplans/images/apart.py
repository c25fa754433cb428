"""Programs that take a plan file apart in a process of their own, with limits on time and memory, one at a time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import BoundedSemaphore

from methods.floorplans.images.pdf_page import SECONDS
from methods.floorplans.images.plan_image import ImageRefused, PlanImage
from methods.quantities.digits import as_entered

#: The programs need nothing of ours: no address of a database, no key.
_NEEDED = ("SYSTEMROOT", "TEMP", "LD_LIBRARY_PATH")
_PICTURE = Path(__file__).with_name("picture_page.py")
#: Each may take more than a gigabyte for a moment: the others of this process wait, and so long.
_TURN = BoundedSemaphore(1)
PATIENCE_S = 45.0
HEAVY = "The picture takes more memory or time than any plan needs. Save the plan smaller."


@contextmanager
def in_turn(seconds: float = PATIENCE_S) -> Iterator[None]:
    """Raises ImageRefused where others take too long."""
    if not _TURN.acquire(timeout=seconds):
        raise ImageRefused("Other plans are being drawn just now. Hand this one in again in a minute.")
    try:
        yield
    finally:
        _TURN.release()


def run(program: Path, content: bytes, seconds: float, *said: str) -> tuple[int, bytes]:
    """The code with which the program ended, and what it wrote. Raises TimeoutExpired."""
    done = subprocess.run(  # noqa: S603 - our own program, isolated from environment and working folder
        [sys.executable, "-I", str(program), *said],
        input=content,
        capture_output=True,
        timeout=seconds,
        check=False,
        env={name: os.environ[name] for name in _NEEDED if name in os.environ},
    )
    return done.returncode, done.stdout


def picture_of(content: bytes, kind: str, seconds: float = SECONDS) -> PlanImage:
    """What is kept of a picture; ``kind`` is "svg", or "pixels" for all others. Raises ImageRefused."""
    try:
        code, written = run(_PICTURE, content, seconds, kind)
    except subprocess.TimeoutExpired as error:
        raise ImageRefused(
            f"The picture was not read within {as_entered(seconds)} s. Save the plan smaller."
        ) from error
    head, _, kept = written.partition(b"\n")
    if code or not head:
        raise ImageRefused(HEAVY)
    said = json.loads(head)
    if "refused" in said:
        raise ImageRefused(said["refused"])
    width, height = said["size"]
    return PlanImage(said["kind"], kept, width, height, tuple(said["left_out"]))
