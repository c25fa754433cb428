"""The digest of everything a result rests on: the same inputs give the same digest, on any machine."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import fields
from typing import Any

import numpy as np

from campaigns.models import Channel
from methods.correction.drift_uncertainty import KINDS, bearing_on, during
from methods.limits.model import LimitDefinition
from readings.queries import Placed
from reports.services.failed_checks import failed_checks

#: Raised whenever a calculation changes, so that old results are known for what they are.
METHOD = "13"

#: Fields of a channel that say nothing of how it measures: names and numbers of rows.
NOT_SAID = frozenset({"id", "created_at", "key", "instrument_type"})


#: Fields of a limit that came after results had been kept.
NEWER = frozenset({"tolerance", "occupied"})


def of_readings(placed: Placed, channel: str = "") -> str:
    """SHA-256 over readings (placed and corrected), channel and deployment: all that is the same for every limit.

    ``channel``: what ``of_channel`` says of its channel, where that is known already.
    """
    digest = hashlib.sha256((channel or of_channel(placed.channel)).encode())
    deployment = placed.deployment
    said = {
        "deployment": [deployment.starts_at.isoformat(), deployment.ends_at and deployment.ends_at.isoformat()],
        "point": [deployment.point_id, deployment.point.kind],
        "interval": placed.interval_ms,
        "represents": placed.represents,
        "checks": list(_checks(placed)),
    }
    if placed.stable is not None:
        said["stable"] = [placed.stable.sigma, placed.stable.rho, placed.stable.dof, placed.stable.source]
    digest.update(canonical(said).encode())
    for array in (placed.utc_ms, placed.value, placed.flags):
        digest.update(np.ascontiguousarray(array).data)
    return digest.hexdigest()


def _checks(placed: Placed) -> Iterator[list[Any]]:
    """The checks that decide how well these readings are known: what each gave, and who accepted which failed one."""
    first, last = int(placed.utc_ms[0]), int(placed.utc_ms[-1])
    for period, begin, end in during(placed.corrected.periods, first, last):
        for kind in KINDS:
            series = period.of(kind)
            bearing = bearing_on(series, begin, end)
            columns = series.at, series.values, series.failed, series.accepted, series.rounding, series.reference
            told = [column[bearing].tolist() for column in (*columns, series.dead)]
            yield [kind, period.calibrated, *told]
    yield [*failed_checks([(placed, first, last)]).accepted]


def of_channel(channel: Channel) -> str:
    """How it measures and how it is calibrated, as text."""
    spec = channel.spec
    measures = {field.name: getattr(spec, field.name) for field in spec._meta.fields if field.name not in NOT_SAID}
    if not spec.probe:
        del measures["probe"]  # what was judged before there were probes still stands
    if not spec.answers_to:
        del measures["answers_to"]
    return canonical([measures, sorted((str(c.date), c.u_reference) for c in channel.calibrations.all())])


def of_result(readings: str, limit: str, levels: str, around: str) -> str:
    """Over the method version, the readings of a stay (``of_readings`` of each part), the limit (``said_of``), the
    levels (below, above) and what else was taken into account: texts in ``canonical`` form, which many results share.
    """
    return _sha256(f"[{canonical(METHOD)}, {readings}, {limit}, {levels}, {around}]")


def said_of(limit: LimitDefinition) -> dict[str, str]:
    """Every field of a limit in words. One of ``NEWER`` only where it says something: what was judged before there was
    such a field still stands."""
    said = {field.name: getattr(limit, field.name) for field in fields(limit)}
    return {name: str(value) for name, value in said.items() if value is not None or name not in NEWER}


def of_parts(*parts: Any) -> str:
    return _sha256(canonical(parts))


def canonical(said: Any) -> str:
    """JSON in one way only. Texts of parts, joined as JSON joins them, are the text of the whole."""
    return _JSON.encode(said)


_JSON = json.JSONEncoder(sort_keys=True, default=str)


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
