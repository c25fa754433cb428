"""How well the meter behind a window is known, from its checks and its calibration: in figures and in words."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import isnan
from zoneinfo import ZoneInfo

from methods.correction import Kind
from methods.correction.drift_uncertainty import DriftCause, DriftUncertainty, drift_uncertainty
from methods.quantities.durations import DAY_MS, HOUR_MS
from methods.quantities.moments import utc_moment
from methods.uncertainty.budget import combine
from methods.wording.numbers import minute, plain
from readings.queries import Placed


@dataclass(frozen=True, slots=True)
class MeterDrift:
    """Of the zero in the channel's unit, or of the span as a share; ``u`` None where nobody knows. ``source``: from
    what ``u`` is, in words. ``of_checks``: rounding and reference of the checks together, as far as they are known.
    ``lacks_reference``: nobody entered how well the gas of a check is known."""

    u: float | None
    source: str
    of_checks: float
    lacks_reference: bool


def drift_of(placed: Placed, inside: slice, kind: Kind) -> MeterDrift:
    """Over the readings ``inside``, from the checks around them and the certificate's rate; limits share windows."""
    first, last = int(placed.utc_ms[inside.start]), int(placed.utc_ms[inside.stop - 1])
    memo: dict[tuple[Kind, int, int], MeterDrift] = placed.corrected.memo
    if (kind, first, last) not in memo:
        memo[kind, first, last] = _drift(placed, int(placed.index[inside.start]), first, last, kind)
    return memo[kind, first, last]


def _drift(placed: Placed, at: int, first: int, last: int, kind: Kind) -> MeterDrift:
    """``at``: of the first reading, in what was corrected."""
    corrected = placed.corrected
    told = drift_uncertainty(corrected.periods, kind, corrected.chain.facts, first, last)
    # the zero is known in the meter's own scale, on which its span and its calibration still act
    scale = float(corrected.slope[at] / corrected.span[at]) if kind == "zero" else 1.0
    lacks = isnan(told.reference)
    return MeterDrift(
        u=None if told.u is None else told.u * scale,
        source=_words(placed, kind, told),
        of_checks=combine([told.rounding, 0.0 if lacks else told.reference]) * scale,
        lacks_reference=lacks,
    )


def _words(placed: Placed, kind: Kind, told: DriftUncertainty) -> str:
    zone = placed.deployment.campaign.site.zone_info
    at = [_minute(check, zone) for check in told.checks]
    if told.cause is DriftCause.UNKNOWN:
        return f"no rate of drift is entered, or no {kind} check and no calibration to count from"
    if told.cause is DriftCause.CALIBRATION:
        return f"{told.far_ms / DAY_MS:.0f} days since the calibration, no {kind} check"
    if told.cause is DriftCause.HELD:
        return f"{kind} held for up to {_hours(told.far_ms)} from the check of {at[0]}"
    if told.cause is DriftCause.ON_CHECK:
        return f"at the {kind} check of {at[0]}"
    checks = f"between the {kind} checks of {at[0]} and {at[-1]}" if len(at) > 1 else f"by the {kind} check of {at[0]}"
    if told.cause is DriftCause.CHANGE:
        return f"{checks}: half of the change"
    if told.cause is DriftCause.ALLOWANCE:
        return f"{checks}: the certificate's rate over {_hours(told.far_ms)}"
    return f"{checks}, of which one failed: the whole step / √3"


def _hours(ms: int) -> str:
    return f"{plain(ms / HOUR_MS)} h"


@lru_cache(maxsize=1024)
def _minute(check_ms: int, zone: ZoneInfo) -> str:
    """Of a check, on which many results rest."""
    return minute(utc_moment(check_ms), zone)


def rests_on_type_data(placed: Placed, begin_ms: int, end_ms: int) -> bool:
    """Whether the meter has neither a calibration in force at its first reading nor a check from ``begin_ms`` to
    ``end_ms``: nothing then speaks for it but what its type promises."""
    chain, first = placed.corrected.chain, int(placed.utc_ms[0])
    if any(line.valid_from_utc_ms <= first for line in chain.calibrations):
        return False
    return not any(begin_ms <= check.at_utc_ms <= end_ms for check in chain.checks)
