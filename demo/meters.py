"""How an instrument turns the air around it into stored numbers, faults included.

Pure numpy. Everything that a consultant does not know about an instrument is in ``FAULTS``; the same figures are what
tests hold the pipeline's corrections against.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from demo.shapes import DemoChannel, DemoInstrument, DemoInstrumentType
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS

FINE_MS = 10_000  # the instruments are simulated every ten seconds
_EPOCH = datetime(2026, 9, 14, tzinfo=UTC)  # zero and clock drifts are told in hours since this


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one instrument; formaldehyde figures are in its own unit.

    ``zero`` is a list of (hours since 14 September 2026 00:00 UTC, offset), linear between, held outside.
    ``noise`` is the standard deviation of one stored value and ``noise_memory`` its lag-1 correlation.
    The clock shows true local time plus ``clock_s`` plus ``clock_drift_s_h`` per hour since the same epoch.
    ``wipes`` is the height of the false signal that alcohol wipes cause in a logger. Between the two hours of
    ``restart`` (same epoch) the formaldehyde sensor gives no value.
    """

    zero: tuple[tuple[float, float], ...]
    span: float
    noise: float
    noise_memory: float = 0.0
    warm_up: float = 0.0
    warm_up_tau_s: float = 60.0
    clock_s: float = 0.0
    clock_drift_s_h: float = 0.0
    wipes: float = 0.0
    restart: tuple[float, float] | None = None


FAULTS: dict[str, Fault] = {
    "A": Fault(zero=((0, 0.001),), span=0.96, noise=0.004, warm_up=0.08, clock_s=-61 * 60),
    "B": Fault(
        zero=(
            (6.3, 0.000),
            (8.3, 0.007),
            (10.4, 0.010),
            (12.8, 0.014),
            (15.2, 0.022),
            (30.3, 0.030),
            (32.0, 0.038),
            (34.4, 0.041),
            (37.0, 0.044),
            (39.2, 0.050),
        ),
        span=1.02,
        noise=0.004,
        warm_up=0.08,
        clock_s=20,
    ),
    "C": Fault(
        zero=((6.2, 0.002), (15.0, 0.003), (30.3, 0.002)),
        span=1 / 0.94,
        noise=0.0025,
        warm_up=0.05,
        clock_s=-7.6,
        clock_drift_s_h=40 / 32.333,
    ),
    "L1": Fault(zero=((0, 2.0),), span=1 / 1.03, noise=2.0, noise_memory=0.6, warm_up=40, warm_up_tau_s=150),
    "L2": Fault(
        zero=((0, 0.3),),
        span=1.0,
        noise=1.5,
        noise_memory=0.6,
        warm_up=30,
        warm_up_tau_s=150,
        clock_s=-90,
        wipes=14.0,
        restart=(33.05, 33.2),
    ),
}

#: Noise of the channels that are not the demo's subject: parameter → standard deviation in the channel's unit.
QUIET_NOISE = {"temperature": 0.05, "humidity": 0.4, "co2": 4.0}


def hours_since_epoch(utc_ms: Ints) -> Floats:
    """Hours since 14 September 2026 00:00 UTC."""
    result: Floats = (utc_ms - int(_EPOCH.timestamp() * 1000)) / 3.6e6
    return result


def zero_offset(fault: Fault, utc_ms: Ints) -> Floats:
    """The true zero offset at UTC times, in the instrument's unit."""
    at, offset = (np.array(column, dtype=np.float64) for column in zip(*fault.zero, strict=True))
    return np.interp(hours_since_epoch(utc_ms), at, offset)


def respond(signal: Floats, t90_s: float, step_s: float) -> Floats:
    """First-order response: after a step, 90 % of it is shown ``t90_s`` later. Starts settled; same shape as input."""
    gain = 1 - math.exp(-step_s * math.log(10) / t90_s)
    shown = np.empty_like(signal)
    level = float(signal[0])
    for k, value in enumerate(signal.tolist()):
        level += (value - level) * gain
        shown[k] = level
    return shown


def noise(random: np.random.Generator, size: int, deviation: float, memory: float) -> Floats:
    """Gaussian noise with standard deviation ``deviation`` and lag-1 correlation ``memory``."""
    white = random.normal(0.0, deviation * math.sqrt(1 - memory**2), size)
    if size == 0 or memory == 0:
        return white
    white[0] /= math.sqrt(1 - memory**2)
    for k in range(1, size):
        white[k] += memory * white[k - 1]
    return white


def quantise(values: Floats, resolution: float) -> Floats:
    """Round to the display's resolution (half to even), as the display would."""
    result: Floats = np.round(np.round(values / resolution) * resolution, 6)
    return result


def shown_clock(utc_ms: Ints, instrument: DemoInstrument, time_zone: str) -> Ints:
    """What the instrument's own clock shows at true UTC times: naive milliseconds since 1970."""
    fault = FAULTS[instrument.key]
    wrong_s = fault.clock_s + fault.clock_drift_s_h * hours_since_epoch(utc_ms)
    basis = _basis_ms(instrument, time_zone)
    result: Ints = utc_ms + basis + np.round(wrong_s * 1000).astype(np.int64)
    return result


def true_time(shown_ms: Ints, instrument: DemoInstrument, time_zone: str) -> Ints:
    """The inverse of ``shown_clock``, to the millisecond: when it truly was what the instrument's clock shows."""
    fault = FAULTS[instrument.key]
    epoch = int(_EPOCH.timestamp() * 1000)
    since = shown_ms - _basis_ms(instrument, time_zone) - round(fault.clock_s * 1000) - epoch
    result: Ints = epoch + np.round(since / (1 + fault.clock_drift_s_h / 3600)).astype(np.int64)
    return result


def _basis_ms(instrument: DemoInstrument, time_zone: str) -> int:
    """Milliseconds that the declared basis is ahead of UTC; the zone's offset does not change within the campaign."""
    if instrument.clock_basis == "site":
        offset = _EPOCH.astimezone(ZoneInfo(time_zone)).utcoffset()
        return 0 if offset is None else int(offset / timedelta(milliseconds=1))
    return instrument.clock_offset_min * MINUTE_MS


def stored(
    channel: DemoChannel,
    kind: DemoInstrumentType,
    instrument: str,
    air: Floats,
    times: tuple[Ints, Ints],
    random: np.random.Generator,
) -> Floats:
    """The values one channel stores while the instrument is switched on once.

    Args:
        air: (n,) what is truly at the inlet every ten seconds, in the channel's unit.
        times: the ten-second grid (n,) and the logged instants (m,), UTC milliseconds; the grid starts at switch-on.

    Returns:
        (m,) values as stored, rounded to the resolution, nan where the sensor gave none; how to print those, over range
        and below detection is the writer's affair.
    """
    fine, logged = times
    shown = respond(air, channel.t90_s, FINE_MS / 1000)
    sigma, memory = QUIET_NOISE.get(channel.parameter, 0.0), 0.0
    if channel.parameter == "formaldehyde":
        fault = FAULTS[instrument]
        on_s = (fine - fine[0]) / 1000
        shown = shown * fault.span + zero_offset(fault, fine) + fault.warm_up * np.exp(-on_s / fault.warm_up_tau_s)
        sigma, memory = fault.noise, fault.noise_memory
    if kind.stores == "mean":
        values = _means(shown, fine, logged, kind.log_interval_s * 1000)
    else:
        values = np.interp(logged, fine, shown)
    values = quantise(values + noise(random, len(values), sigma, memory), channel.resolution)
    gap = FAULTS[instrument].restart if channel.parameter == "formaldehyde" else None
    if gap is not None:
        hours = hours_since_epoch(logged)
        values[(hours >= gap[0]) & (hours < gap[1])] = np.nan
    return values


def _means(shown: Floats, fine: Ints, logged: Ints, interval_ms: int) -> Floats:
    """Means over the interval that ends at each logged instant."""
    total = np.concatenate(([0.0], np.cumsum(shown)))
    last = np.searchsorted(fine, logged, side="left")
    first = np.searchsorted(fine, logged - interval_ms, side="left")
    result: Floats = (total[last] - total[first]) / np.maximum(last - first, 1)
    return result
