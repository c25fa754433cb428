"""What a judgement takes into account beside the readings themselves: the place, the shift, the outdoor air."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from campaigns.models import Campaign, Deployment, PlaceKind, SamplingPoint
from methods.averages import UnsampledTime
from methods.limits.model import LimitDefinition, PopulationScope
from methods.verdicts.comparability import Reason
from reports.services.clock_in_doubt import ClockInDoubt

#: Whose air is meant in each kind of place (guidelines reference T11: an office with furniture emissions is indoor air,
#: not a workplace with hazardous substances).
SCOPES: dict[PlaceKind, PopulationScope] = {
    PlaceKind.DWELLING: PopulationScope.DWELLING,
    PlaceKind.SCHOOL: PopulationScope.PUBLIC,
    PlaceKind.CARE: PopulationScope.PUBLIC,
    PlaceKind.OFFICE: PopulationScope.PUBLIC,
    PlaceKind.PUBLIC: PopulationScope.PUBLIC,
    PlaceKind.WORKPLACE: PopulationScope.WORKPLACE,
}


@dataclass(frozen=True, slots=True)
class OutdoorValue:
    """Outdoor air in a limit's unit, for a window indoors.

    ``lower``/``upper`` bound it below detection. ``words``: what it is, where, when and with what it was measured.
    """

    value: float
    u: float
    lower: float
    upper: float
    words: str
    deployments: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoOutdoor:
    """Why there is no outdoor value."""

    words: str


OutdoorAt = Callable[[LimitDefinition, int, int], OutdoorValue | NoOutdoor]


@dataclass(frozen=True, slots=True)
class Circumstances:
    """``place``: what the zone is, None where nobody said; ``personal``: worn by a person; ``outdoor_at``: the outdoor
    value for a window (ms UTC) in a limit's unit, None for outdoor points themselves; ``clock``: what is in doubt about
    the time of the readings, ``clock_beside`` about that of others they are set beside, None where nothing is."""

    outdoors: bool = False
    place: PlaceKind | None = None
    personal: bool = False
    shift_minutes: float = 8 * 60.0
    unsampled: UnsampledTime = UnsampledTime.AS_SAMPLED
    outdoor_at: OutdoorAt | None = field(default=None, compare=False)
    clock: ClockInDoubt | None = None
    clock_beside: ClockInDoubt | None = None

    @property
    def scope(self) -> PopulationScope | None:
        return SCOPES[self.place] if self.place else None

    def said(self) -> dict[str, object]:
        """For the digest: everything but the outdoor air, which has its own."""
        return {
            "outdoors": self.outdoors,
            "place": self.place,
            "personal": self.personal,
            "shift": [self.shift_minutes, self.unsampled],
            **({} if self.clock is None else {"clock": self.clock.said}),
            **({} if self.clock_beside is None else {"clock beside": self.clock_beside.said}),
        }

    def clock_reason(self, limit: LimitDefinition) -> Reason | None:
        """Why a result against ``limit`` is an indication for its clock's sake, None where it is not."""
        own = self.clock.reason(limit) if self.clock else None
        return own or (self.clock_beside.reason_beside(limit) if self.clock_beside else None)


def around(
    campaign: Campaign,
    deployment: Deployment,
    *,
    personal: bool = False,
    outdoor_at: OutdoorAt | None = None,
    clock: ClockInDoubt | None = None,
    clock_beside: ClockInDoubt | None = None,
) -> Circumstances:
    """Of one deployment, with its point, room, zone, floor and building fetched."""
    point = deployment.point
    outdoors = point.kind == SamplingPoint.Kind.OUTDOOR
    return Circumstances(
        outdoors=outdoors,
        place=point.room.zone.place if point.room else None,
        personal=personal,
        shift_minutes=60 * float(campaign.shift_hours),
        unsampled=UnsampledTime(campaign.unsampled),
        outdoor_at=None if outdoors else outdoor_at,
        clock=clock,
        clock_beside=clock_beside,
    )
