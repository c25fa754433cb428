"""The digest of everything a result rests on: the same inputs give the same digest, on any machine."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import fields
from functools import lru_cache
from typing import Any

from campaigns.models import Campaign
from readings.queries import Placed
from reports.limits.model import Limit

#: Raised whenever a calculation changes, so that old results are known for what they are.
METHOD = "9"


def of_readings(placed: Placed) -> str:
    """SHA-256 over readings (placed and corrected), channel and deployment: all that is the same for every limit."""
    digest = hashlib.sha256()
    spec, deployment = placed.channel.spec, placed.deployment
    said = {
        "channel": {
            f.name: getattr(spec, f.name) for f in spec._meta.fields if f.name not in ("id", "created_at", "key")
        },
        "calibrations": sorted((str(c.date), c.u_reference) for c in placed.channel.calibrations.all()),
        "deployment": [deployment.starts_at.isoformat(), deployment.ends_at and deployment.ends_at.isoformat()],
        "point": [deployment.point_id, deployment.point.kind],
        "interval": placed.interval_ms,
        "represents": placed.represents,
    }
    digest.update(json.dumps(said, sort_keys=True, default=str).encode())
    for array in (placed.utc_ms, placed.value, placed.flags, placed.corrected.zero_held_since_ms[placed.index]):
        digest.update(array.tobytes())
    return digest.hexdigest()


def of_result(readings: Iterable[str], limit: Limit, campaign: Campaign, around: Any) -> str:
    """Over the readings of a stay (``of_readings``), the limit, the levels, what else was taken into account
    (``around``: plain JSON) and the method version."""
    return of_parts(METHOD, list(readings), _said(limit), [campaign.level_below, campaign.level_above], around)


@lru_cache(maxsize=1024)
def _said(limit: Limit) -> dict[str, str]:
    """Every field of a limit in words; not to be changed by who asks."""
    return {field.name: str(getattr(limit, field.name)) for field in fields(limit)}


def of_parts(*parts: Any) -> str:
    return hashlib.sha256(json.dumps(parts, sort_keys=True, default=str).encode()).hexdigest()
