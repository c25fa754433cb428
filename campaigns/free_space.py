"""How much space is left where Fanlight stores things, and when that is said."""

from __future__ import annotations

import shutil
import tempfile
from enum import Enum
from pathlib import Path

from django.conf import settings
from django.core.files.storage import default_storage


class Space(Enum):
    ENOUGH = "enough"
    LOW = "low"
    NONE = "none left"


def space() -> Space:
    """By the fullest of the places. ``LOW`` is time to act; with ``NONE`` nothing more is taken in."""
    free = free_bytes()
    if free < settings.KEEP_FREE_BYTES:
        return Space.NONE
    return Space.LOW if free < settings.LOW_SPACE_BYTES else Space.ENOUGH


def free_bytes() -> int:
    """Of the fullest of the places."""
    return min(shutil.disk_usage(place).free for place in places())


def has_room_for(size: int) -> bool:
    """Whether a file of ``size`` bytes can be kept, and what is kept free for all else stays free."""
    return all(shutil.disk_usage(place).free - size >= settings.KEEP_FREE_BYTES for place in places())


def places() -> list[Path]:
    """Folders of this host that grow: data, originals unless they are elsewhere, and files on their way in."""
    try:
        kept = [Path(default_storage.path(""))]
    except NotImplementedError:  # object storage
        kept = []
    return [place for place in (settings.VAR_DIR, *kept, Path(tempfile.gettempdir())) if place.is_dir()]
