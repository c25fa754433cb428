"""The digest of everything a result rests on: the same inputs give the same digest, on any machine."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from typing import Any

from campaigns.models import Campaign
from readings.queries import Placed
from reports.limits.model import Limit

#: Raised whenever a calculation changes, so that old results are known for what they are.
METHOD = "4"


def of_result(placed: Placed, limit: Limit, campaign: Campaign) -> str:
    """SHA-256 over readings (placed and corrected), channel, deployment, limit, levels and method version."""
    digest = hashlib.sha256()
    spec, deployment = placed.channel.spec, placed.deployment
    said = {
        "method": METHOD,
        "limit": {name: str(value) for name, value in sorted(asdict(limit).items())},
        "levels": [campaign.level_below, campaign.level_above],
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


def of_parts(*parts: Any) -> str:
    return hashlib.sha256(json.dumps(parts, sort_keys=True, default=str).encode()).hexdigest()
