"""What quality runs say: meters side by side, and the detection limit of each in zero air."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

from campaigns.models import Campaign, QualityRun
from campaigns.services.limit_terms import terms
from methods.averages import Series
from methods.limits.model import LimitDefinition
from methods.quality.side_by_side import FEWEST_STEPS, MetersCompared, common_step, side_by_side
from methods.quality.zero_runs import FEWEST_READINGS, detection_limit
from methods.quantities.arrays import Floats
from methods.quantities.flags import Flag
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import NotConvertible
from methods.wording.numbers import span
from readings.queries import Placed
from readings.queries.run_readings import run_readings
from reports.content.canonical import number
from reports.services.meter_noise import runs_of_campaign, series_of_run
from reports.services.quality.lowest_limits import lowest_limit
from reports.trace.quality import BesideMeasured, MeterBias, MeterPair, ZeroMeasured

#: By parameter, in the order of the campaign.
Limits = Mapping[str, Sequence[LimitDefinition]]
NO_READINGS = "no readings of two instruments lie in it: upload their logs, or see whether its times are right"
FEW_STEPS = f"fewer than {FEWEST_STEPS} common steps of time"
FEW_ZEROS = f"fewer than {FEWEST_READINGS} readings that count lie in its zero runs"


def runs_measured(campaign: Campaign, limits: Limits) -> tuple[tuple[BesideMeasured, ...], tuple[ZeroMeasured, ...]]:
    """Side by side run by run and parameter by parameter; zero air channel by channel."""
    runs = runs_of_campaign(campaign)
    beside: dict[int, dict[str, list[Placed]]] = {run.pk: defaultdict(list) for run in runs if not run.is_zero}
    zeros: dict[int, list[Placed]] = defaultdict(list)
    for run, placed in run_readings(campaign, runs):
        if not run.tells_of(parameter := placed.channel.spec.parameter):
            continue
        if run.is_zero:
            zeros[placed.channel.pk].append(placed)
        else:
            beside[run.pk][parameter].append(placed)
    zone = campaign.site.zone_info
    told = [each for run in runs if not run.is_zero for each in _beside(run, beside[run.pk], limits, zone)]
    return tuple(told), tuple(sorted((_zero(parts, limits) for parts in zeros.values()), key=_by_name))


def meter_names(parts: Iterable[Placed]) -> list[str]:
    """Of each the name of its instrument; with its probe, else its unit, where one instrument has several channels."""
    parts = list(parts)
    often = Counter(part.deployment.instrument_id for part in parts)
    return [
        str(part.deployment.instrument)
        if often[part.deployment.instrument_id] == 1
        else f"{part.deployment.instrument}, {part.channel.spec.probe or part.unit}"
        for part in parts
    ]


def _by_name(told: ZeroMeasured) -> tuple[str, str]:
    return told.parameter, told.meter


def _beside(
    run: QualityRun, by_parameter: Mapping[str, list[Placed]], limits: Limits, zone: ZoneInfo
) -> Iterator[BesideMeasured]:
    nothing = BesideMeasured(
        str(run.key), str(run), span(run.starts_at, run.ends_at, zone), "", "", 0, 0, None, (), (), None, None, ""
    )
    several = {code: parts for code, parts in by_parameter.items() if len({p.channel.instrument_id for p in parts}) > 1}
    if not several:
        yield replace(nothing, why=NO_READINGS)
    for code in sorted(several, key=list(SUBSTANCES).index):
        parts = sorted(several[code], key=lambda part: str(part.deployment.instrument))
        unit, kept, series = in_one_unit(parts, limits.get(code, ()))
        told = replace(nothing, parameter=code, unit=unit)
        if len(series) < 2:
            yield replace(told, why="the instruments measure in units of which none leads to the other")
            continue
        step = common_step(series)
        together = side_by_side(series, step)
        told = replace(told, step_s=step // 1000)
        yield replace(told, why=FEW_STEPS) if together is None else _told(told, meter_names(kept), together)


def _told(told: BesideMeasured, names: Sequence[str], together: MetersCompared) -> BesideMeasured:
    is_size = not SUBSTANCES[told.parameter].is_climate  # of a temperature in °C there is no share
    return replace(
        told,
        steps=together.steps,
        median=number(together.median),
        meters=tuple(
            MeterBias(name, number(b.mean), number(b.bias), number(b.expanded), number(b.relative) if is_size else None)
            for name, b in zip(names, together.biases, strict=True)
        ),
        pairs=tuple(MeterPair(names[pair.first], names[pair.second], number(pair.u)) for pair in together.pairs),
        between=number(together.between),
        between_relative=number(together.between_relative) if is_size else None,
    )


def in_one_unit(parts: Sequence[Placed], limits: Sequence[LimitDefinition]) -> tuple[str, list[Placed], list[Series]]:
    """The unit, those that have a way to it, and their readings in it: as they are where all are alike, else in the
    unit of the first limit, else those in the unit that most have."""
    series = [series_of_run(part) for part in parts]
    units = Counter(part.unit for part in parts)
    if len(units) > 1 and limits:
        try:
            values = [terms(part.channel.spec, limits[0]).values(part.value) for part in parts]
        except NotConvertible:
            pass
        else:
            return limits[0].unit, list(parts), [s.in_other_terms(v) for s, v in zip(series, values, strict=True)]
    unit = units.most_common(1)[0][0]
    there = [k for k, part in enumerate(parts) if part.unit == unit]
    return unit, [parts[k] for k in there], [series[k] for k in there]


def zero_values(placed: Placed) -> Floats:
    """The readings of zero air that count. A number under the detection limit is one; "<0.01" is none."""
    series = series_of_run(placed)
    shown = (placed.corrected.flags[placed.index] & int(Flag.OVER_RANGE)) == 0
    values: Floats = series.value[series.usable & shown]
    return values


def _zero(parts: Sequence[Placed], limits: Limits) -> ZeroMeasured:
    spec, factor = parts[0].channel.spec, parts[0].corrected.chain.factor
    found = detection_limit([zero_values(part) for part in parts], spec.resolution * factor)
    lowest = lowest_limit(spec, limits.get(spec.parameter, ()))
    makers = None if spec.detection_limit is None else spec.detection_limit * factor
    counts = max(found.value, makers or 0.0) if found else None
    return ZeroMeasured(
        meter=meter_names(parts)[0] if len(parts) == 1 else str(parts[0].deployment.instrument),
        parameter=spec.parameter,
        unit=spec.unit,
        runs=len(parts),
        n=found.n if found else sum(len(zero_values(part)) for part in parts),
        mean=number(found.mean) if found else None,
        s=number(found.s) if found else None,
        limit=number(found.value) if found else None,
        rule=found.rule.value if found else "",
        makers=number(makers),
        share=number(counts / lowest.value) if counts is not None and lowest else None,
        against=lowest.text if lowest else "",
        why="" if found else FEW_ZEROS,
    )
