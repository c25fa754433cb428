"""The noise of each meter as its own quality runs show it: the first evidence (docs/methods/uncertainty.md)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from campaigns.models import Campaign, QualityRun
from methods.averages import Series
from methods.correction.drift import zero_tolerance_of
from methods.placing import is_same_interval
from methods.quality.zero_runs import zero_off
from methods.quantities.moments import utc_ms
from methods.quantities.stamp_convention import StampConvention
from methods.uncertainty.noise import LARGEST_RHO, Noise, lasting
from methods.uncertainty.stable_air import RunNoise, in_zero_air, side_by_side, together
from methods.wording.numbers import plain, span
from readings.queries import Placed
from readings.queries.run_readings import run_readings


@dataclass(frozen=True, slots=True)
class MeterNoise:
    """As logged at ``interval_ms``: at another interval, or as means instead of momentary values, it may be another.
    ``zero_off``: a sentence for each zero run whose mean is further from zero than its tolerance, at any interval."""

    interval_ms: int
    represents: StampConvention
    noise: Noise
    zero_off: tuple[str, ...] = ()

    def is_of(self, placed: Placed) -> bool:
        return self.represents == placed.represents and is_same_interval(self.interval_ms, placed.interval_ms)


#: By id of a channel, for each way in which it was logged.
NoiseOfMeters = Mapping[int, tuple[MeterNoise, ...]]


def runs_of_campaign(campaign: Campaign) -> list[QualityRun]:
    """With their members and those's instruments. Two queries."""
    return list(campaign.quality_runs.prefetch_related("members__instrument"))


def noise_of_meters(campaign: Campaign) -> NoiseOfMeters:
    """Of every channel that was in a run of the campaign and shows its noise there. Two queries where there is none."""
    found: dict[int, list[tuple[QualityRun, Placed]]] = defaultdict(list)
    for run, placed in run_readings(campaign, runs_of_campaign(campaign)):
        if not run.tells_of(placed.channel.spec.parameter):
            continue
        found[placed.channel.pk].append((run, placed))
    told = {pk: tuple(_ways(parts)) for pk, parts in found.items()}
    return {pk: ways for pk, ways in told.items() if ways}


def with_noise(placed: Iterable[Placed], meters: NoiseOfMeters | None) -> Iterator[Placed]:
    """The same with what is known of the noise of its meter."""
    for part in placed:
        ways = (meters or {}).get(part.channel.pk, ())
        own = next((way.noise for way in ways if way.is_of(part) and way.noise.sigma is not None), None)
        yield part if own is None else replace(part, stable=own)


def _ways(parts: list[tuple[QualityRun, Placed]]) -> Iterator[MeterNoise]:
    waiting = list(parts)
    while waiting:
        first = MeterNoise(waiting[0][1].interval_ms, waiting[0][1].represents, Noise(None))
        alike = [(run, placed) for run, placed in waiting if first.is_of(placed)]
        waiting = [(run, placed) for run, placed in waiting if not first.is_of(placed)]
        noise = _noise(alike)
        zero_off = tuple(words for run, part in alike if run.is_zero and (words := _zero_off(run, part)))
        if noise is not None or zero_off:
            yield replace(first, noise=noise or Noise(None), zero_off=zero_off)


def _noise(parts: list[tuple[QualityRun, Placed]]) -> Noise | None:
    spec = parts[0][1].channel.spec
    factor = parts[0][1].corrected.chain.factor
    step = spec.resolution * factor
    told: dict[bool, list[RunNoise]] = {True: [], False: []}
    for run, placed in parts:
        how = in_zero_air if run.is_zero else side_by_side
        if (shown := how(series_of_run(placed), step, spec.t90_s)) is not None:
            told[run.is_zero].append(shown)
    return together(told[True], told[False], step)


def _zero_off(run: QualityRun, placed: Placed) -> str:
    """ "In the zero run of 15 Sep 2026, 10:00 to 11:00 meter B showed 0.25 ppm, …", "" where its zero is all right."""
    spec, factor = placed.channel.spec, placed.corrected.chain.factor
    series = series_of_run(placed)
    tolerance = zero_tolerance_of(placed.corrected.chain.facts)
    rho = lasting(spec.t90_s, placed.interval_ms / 1000) if spec.t90_s else 0.0
    scaled = None if tolerance is None else tolerance * factor
    off = zero_off(series.value[series.usable], scaled, min(rho, LARGEST_RHO))
    if off is None or scaled is None:
        return ""
    when = span(run.starts_at, run.ends_at, placed.deployment.campaign.site.zone_info)
    return (
        f"In the zero run of {when} {placed.deployment.instrument} showed {plain(off)} {placed.unit} in the mean, "
        f"further from zero than the {plain(scaled)} {placed.unit} that a zero check may be off."
    )


def zeros_off(meters: NoiseOfMeters, parts: Iterable[Placed]) -> str:
    """What zero runs say against the zeros of the meters of ``parts``; "" for nothing."""
    said = (words for part in parts for way in meters.get(part.channel.pk, ()) for words in way.zero_off)
    return " ".join(dict.fromkeys(said))


def series_of_run(placed: Placed) -> Series:
    """The readings of one meter in a run, corrected, in the unit of its channel."""
    deployment = placed.deployment
    assert deployment.ends_at is not None
    return Series(
        utc_ms=placed.utc_ms,
        value=placed.value,
        flags=placed.flags.astype(np.int16),
        interval_ms=placed.interval_ms,
        start_ms=utc_ms(deployment.starts_at),
        end_ms=utc_ms(deployment.ends_at),
        represents=placed.represents,
    )
