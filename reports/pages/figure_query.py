"""What a figure of a zone is about, and the readings it is drawn from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from typing import Any

import numpy as np

from campaigns.models import Campaign, ChannelSpec, Deployment, SamplingPoint, Zone
from campaigns.pages.chosen_criteria import Chosen
from campaigns.services.limit_terms import reference_of, terms
from methods.clock import Basis
from methods.comparison.distribution import PlaceSample
from methods.figures import Course, DeploymentBar, LimitLine, Span
from methods.limits.model import Averaging, Bound
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.durations import HOUR_MS
from methods.quantities.flags import EXCLUDES, Flag, words
from methods.quantities.gaps import BRIDGED_INTERVALS
from methods.quantities.moments import utc_moment, utc_ms
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import NotConvertible, convert
from methods.wording.numbers import duration
from readings.queries import Placed, placed_in
from reports.models import Result
from reports.services.downsampling import Thinned, thinned

ROOM_AIR, OUTDOOR = SamplingPoint.Kind.ROOM_AIR, SamplingPoint.Kind.OUTDOOR
#: Deployments longer than this are drawn on an axis of their own: beside them a visit would be a hair's width.
LONG_MS = 6 * HOUR_MS
#: Two points a pixel, the lowest and the highest, are all that can be seen of a line.
FEWEST_BINS, MOST_BINS, USUAL_BINS = 100, 1000, 600


@dataclass(frozen=True, eq=False)
class FigureQuery:
    """One parameter in one zone of a campaign, in the terms of ``current`` or in the channel's own unit.

    ``span``: the part of the time axis that is looked at, wall-clock ms of the site; ``pixels``: how wide it is drawn.
    """

    campaign: Campaign
    zone: Zone
    parameter: str
    criteria: Sequence[Chosen]
    current: Chosen | None
    span: Span | None = None
    pixels: int | None = None

    @cached_property
    def clock(self) -> Basis:
        return Basis.in_zone(self.campaign.site.time_zone)

    @cached_property
    def governing(self) -> Result | None:
        if self.current is None:
            return None
        finding = self.current.criterion.findings.filter(zone=self.zone).select_related("governing__point__room")
        findings = finding.first()
        return findings.governing if findings else None

    @property
    def name(self) -> str:
        return SUBSTANCES[self.parameter].name

    @property
    def bins(self) -> int:
        """Of how many stretches of time the lowest and highest readings are shown: as many as there are pixels."""
        return USUAL_BINS if self.pixels is None else max(FEWEST_BINS, min(MOST_BINS, self.pixels))

    @cached_property
    def moments(self) -> tuple[datetime | None, datetime | None]:
        """The span in UTC. In an hour that the clock repeats, from its first pass to the end of its second."""
        if self.span is None:
            return None, None
        start, end = (
            self.clock.to_utc(np.array([self.span[0]]))[0][0],
            self.clock.to_utc(np.array([self.span[1]]))[0][0],
        )
        if self.clock.from_utc([end + HOUR_MS])[0] == self.span[1]:
            end += HOUR_MS
        return utc_moment(int(start)), utc_moment(int(end) + 1)

    def of(self, parameter: str) -> FigureQuery:
        """The same of another parameter, in its own unit."""
        return replace(self, parameter=parameter, current=None)

    def deployments(self) -> list[Deployment]:
        """Those in the zone whose instrument measures the parameter, in order of time."""
        return self._measuring(point__room__zone=self.zone)

    def deployments_by(self, parameters: Sequence[str]) -> dict[str, list[Deployment]]:
        """Those in the zone for each of ``parameters``. Two queries for all of them."""
        deployments = self.campaign.deployments.filter(point__room__zone=self.zone)
        here = list(deployments.select_related("point__room", "instrument").order_by("starts_at", "pk"))
        types = {deployment.instrument.type_id for deployment in here}
        specs = ChannelSpec.objects.filter(parameter__in=parameters, instrument_type__in=types)
        able = set(specs.values_list("parameter", "instrument_type_id").order_by())
        return {
            code: [deployment for deployment in here if (code, deployment.instrument.type_id) in able]
            for code in parameters
        }

    def outdoors(self) -> list[Deployment]:
        """The campaign's deployments in outdoor air whose instrument measures the parameter."""
        return self._measuring(point__kind=OUTDOOR)

    def _measuring(self, **where: Any) -> list[Deployment]:
        able = ChannelSpec.objects.filter(parameter=self.parameter).values("instrument_type")
        deployments = self.campaign.deployments.filter(instrument__type__in=able, **where)
        return list(deployments.select_related("point__room", "instrument").order_by("starts_at", "pk"))

    def limits(self) -> list[LimitLine]:
        """The chosen limit, and others stated in the same unit and reference; the rest would have to be recomputed."""
        if self.current is None:
            return []
        same = (self.current.limit.parameter, self.current.limit.unit, reference_of(self.current.limit))
        lines = []
        for chosen in self.criteria:
            limit = chosen.limit
            if (limit.parameter, limit.unit, reference_of(limit)) == same:
                ends: dict[Bound, tuple[float | None, ...]] = {Bound.UPPER: (limit.upper,), Bound.LOWER: (limit.lower,)}
                ends[Bound.RANGE] = (limit.lower, limit.upper)
                lines += [LimitLine(end, line_label(chosen)) for end in ends[limit.bound] if end is not None]
        return lines


def line_label(chosen: Chosen) -> str:
    minutes = chosen.limit.averaging_minutes
    if chosen.limit.averaging is Averaging.CEILING:
        over = "ceiling"
    else:
        over = f"{duration(minutes)} mean" if minutes else chosen.limit.statistic
    return f"{chosen.limit.value_text()} {over}, {chosen.limit.body}"


@dataclass(frozen=True, eq=False)
class Shown:
    """Readings of one deployment, ready to be drawn. ``utc_ms`` [n] as in the course; ``reading_count`` is how many
    there are where the course holds only the extremes; ``resolution`` of a reading in the figure's unit."""

    course: Course
    stay: DeploymentBar
    deployment: Deployment
    utc_ms: Ints
    interval_ms: int
    reading_count: int
    resolution: float

    @property
    def is_long(self) -> bool:
        return is_long(self.stay)

    @property
    def is_room_air(self) -> bool:
        return self.deployment.point.kind == ROOM_AIR

    def sample(self) -> PlaceSample:
        """The readings that count, without their times."""
        counts = self.course.drawn
        assert self.course.below is not None
        return PlaceSample(self.course.label, self.course.value[counts], self.course.below[counts])


@dataclass
class FigureReadings:
    """All that was found, in one ``unit`` (with its reference), and why readings of some instrument are missing.

    ``stays``: every deployment that was asked for, whether or not it has readings in the span.
    """

    unit: str = ""
    stays: list[DeploymentBar] = field(default_factory=list)
    shown: list[Shown] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)

    @property
    def short_unit(self) -> str:
        """Without the reference, which stands beside the drawing."""
        return self.unit.partition(" at ")[0]

    def room_air(self) -> list[Shown]:
        return [part for part in self.shown if part.is_room_air]


def is_long(stay: DeploymentBar) -> bool:
    return stay.end_ms - stay.start_ms > LONG_MS


def may_be_long(deployment: Deployment) -> bool:
    """As far as it is known: one that is still open may be."""
    ends = deployment.ends_at
    return ends is None or utc_ms(ends) - utc_ms(deployment.starts_at) > LONG_MS


def drawn_of(look: FigureQuery, deployments: Iterable[Deployment]) -> FigureReadings:
    """The extremes of the readings in the look's span, as many as its width shows."""
    (readings,) = drawn_together([look], {look.parameter: list(deployments)})
    return readings


def drawn_together(
    looks: Sequence[FigureQuery], deployments: Mapping[str, Sequence[Deployment]]
) -> list[FigureReadings]:
    """The same for several parameters over one span, in as many queries as for one. ``deployments`` by parameter."""
    first = looks[0]
    start, end = first.moments
    near = {d.pk: d for look in looks for d in deployments[look.parameter] if _within(d, start, end)}
    codes = [look.parameter for look in looks]
    cuts = thinned(first.campaign, near.values(), parameter=codes, start=start, end=end, bins=first.bins)
    by_parameter: dict[str, list[Thinned]] = {code: [] for code in codes}
    for cut in cuts:
        by_parameter[cut.channel.spec.parameter].append(cut)
    return [_gathered(look, deployments[look.parameter], by_parameter[look.parameter]) for look in looks]


def readings_of(look: FigureQuery, deployments: Iterable[Deployment]) -> FigureReadings:
    """Every reading of the look's span."""
    asked = list(deployments)
    start, end = look.moments
    near = [d for d in asked if _within(d, start, end)]
    placed = placed_in(look.campaign, parameter=look.parameter, deployments=near, start=start, end=end)
    return _gathered(look, asked, placed)


def _within(deployment: Deployment, start: datetime | None, end: datetime | None) -> bool:
    begins_before = end is None or deployment.starts_at < end
    return begins_before and (start is None or deployment.ends_at is None or deployment.ends_at > start)


def _gathered(look: FigureQuery, asked: Sequence[Deployment], parts: Iterable[Thinned | Placed]) -> FigureReadings:
    out = FigureReadings()
    for source in parts:
        try:
            terms_of = InTerms(source.channel.spec, look.current, out.unit)
        except NotConvertible as error:
            out.refused.append(f"{source.deployment.instrument} at {source.deployment.point}: {error}")
            continue
        out.unit = out.unit or terms_of.unit
        out.shown.append(_shown(look, source, terms_of))
    out.shown.sort(key=lambda part: (part.stay.start_ms, part.deployment.pk))
    known = {part.deployment.pk: part.stay for part in out.shown}
    out.stays = [known.get(d.pk) or stay_of(look, d, utc_ms(d.starts_at)) for d in asked]
    return out


class InTerms:
    """How one channel's numbers come into the figure's unit: that of the criterion, or what was taken before (``unit``,
    "" at first). Raises NotConvertible, in words for people."""

    def __init__(self, spec: ChannelSpec, current: Chosen | None, unit: str) -> None:
        self.spec = spec
        self.how = terms(spec, current.limit) if current is not None else None
        self.unit = self.how.unit_text if self.how is not None else unit or spec.unit
        self(np.zeros(1))

    def __call__(self, values: Floats) -> Floats:
        if self.how is not None:
            return self.how.values(values)
        return convert(values, self.spec.parameter, self.spec.unit, self.unit)

    def one(self, value: float) -> float:
        return float(self(np.array([value]))[0])

    def raised(self, values: Floats, below: Bools) -> Floats:
        """Values, those below detection at the limit of detection: the net signal is under it, nobody knows how far."""
        limit = self.spec.detection_limit
        return values if limit is None else np.where(below, np.maximum(values, self.one(limit)), values)


def _shown(look: FigureQuery, source: Thinned | Placed, in_terms: InTerms) -> Shown:
    deployment, flags = source.deployment, source.flags
    stay = stay_of(look, deployment, int(source.utc_ms[-1]))
    below = (flags & int(Flag.BELOW_DETECTION)) != 0
    course = Course(
        label=source.channel.spec.with_probe(stay.label),
        instrument=stay.instrument,
        wall_ms=look.clock.from_utc(source.utc_ms),
        value=in_terms.raised(in_terms(source.value), below),
        counts=(flags & int(EXCLUDES)) == 0,
        why_not=_why_not(flags),
        gap_ms=BRIDGED_INTERVALS * source.interval_ms,
        governs=stay.governs,
        below=below,
        over=(flags & int(Flag.OVER_RANGE)) != 0,
        broken=source.broken if isinstance(source, Thinned) else None,
    )
    step = in_terms.one(source.channel.spec.resolution) - in_terms.one(0.0)
    return Shown(
        course=course,
        stay=stay,
        deployment=deployment,
        utc_ms=source.utc_ms,
        interval_ms=source.interval_ms,
        reading_count=source.reading_count if isinstance(source, Thinned) else len(source.utc_ms),
        resolution=step,
    )


def stay_of(look: FigureQuery, deployment: Deployment, last_ms: int) -> DeploymentBar:
    """From when to when, on the wall clock; one that is still open ends, for now, with its last reading (UTC ms)."""
    end = utc_ms(deployment.ends_at) if deployment.ends_at else last_ms
    first, last = look.clock.from_utc([utc_ms(deployment.starts_at), end]).tolist()
    governs = look.governing is not None and look.governing.point_id == deployment.point_id
    return DeploymentBar(label_of(deployment.point), first, last, str(deployment.instrument), governs=governs)


def label_of(point: SamplingPoint) -> str:
    """The point, with what kind of place it is where that is neither the air of a room nor said by its place."""
    return str(point) if point.kind == ROOM_AIR else f"{point} ({point.get_kind_display().lower()})"


def _why_not(flags: Ints) -> list[str]:
    """The excluding flags of each reading in words; few combinations, so each is spelled once."""
    excluding = flags & int(EXCLUDES)
    spelled = {int(flag): ", ".join(words(int(flag))) for flag in np.unique(excluding)}
    return [spelled[flag] for flag in excluding.tolist()]
