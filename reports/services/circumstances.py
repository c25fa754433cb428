"""What a judgement takes into account beside the readings themselves: the place, the shift, the outdoor air."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial

from campaigns.models import Campaign, Deployment, PlaceKind, SamplingPoint
from campaigns.services.air_pressure import pressure_at
from methods.averages import UnsampledTime
from methods.averages.occupancy import Timetable
from methods.limits.model import LimitDefinition, PopulationScope
from methods.quantities.pressure import StationPressure
from methods.quantities.units import SEA_LEVEL_KPA
from methods.verdicts.comparability import Reason
from reports.services.clock_in_doubt import ClockInDoubt
from reports.services.failed_checks import FailedChecks

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
    ``failed``: the failed checks it rests on.
    """

    value: float
    u: float
    lower: float
    upper: float
    words: str
    deployments: tuple[str, ...]
    failed: FailedChecks = field(default_factory=FailedChecks)


@dataclass(frozen=True, slots=True)
class NoOutdoor:
    """Why there is no outdoor value."""

    words: str


@dataclass(frozen=True, slots=True)
class UseOfPlace:
    """When a place is in use, on the clock of the IANA zone ``zone``. ``words``: the hours, who says so and of what."""

    timetable: Timetable
    zone: str
    words: str
    is_assumed: bool = False

    def said(self) -> dict[str, object]:
        """For the digest of what rests on it."""
        return {"use": self.words, "zone": self.zone, "assumed": self.is_assumed}


OutdoorAt = Callable[[LimitDefinition, int, int], OutdoorValue | NoOutdoor]


@dataclass(frozen=True, slots=True)
class Circumstances:
    """``place``: what the zone is, None where nobody said; ``personal``: worn by a person; ``outdoor_at``: the outdoor
    value for a window (ms UTC) in a limit's unit, None for outdoor points themselves. ``type_data_only``: nobody ever
    calibrated or checked the meter, as far as it is known here; ``zero_off``: what its
    zero runs say against its zero. ``use``: when the place is in use, None where nobody
    said. ``pressure``: of the air there, which has to do with some channels only. ``clock``: what is in doubt
    about the time of the readings, ``clock_beside`` about that of others they are set beside, None where nothing is."""

    outdoors: bool = False
    place: PlaceKind | None = None
    personal: bool = False
    shift_minutes: float = 8 * 60.0
    unsampled: UnsampledTime = UnsampledTime.AS_SAMPLED
    type_data_only: bool = False
    zero_off: str = ""
    outdoor_at: OutdoorAt | None = field(default=None, compare=False)
    use: UseOfPlace | None = None
    pressure: StationPressure = field(default_factory=partial(StationPressure, SEA_LEVEL_KPA))
    clock: ClockInDoubt | None = None
    clock_beside: ClockInDoubt | None = None

    @property
    def scope(self) -> PopulationScope | None:
        return SCOPES[self.place] if self.place else None

    def said(self) -> dict[str, object]:
        """For the digest: everything but outdoor air, time of use and air pressure, which have their own."""
        return {
            "outdoors": self.outdoors,
            "place": self.place,
            "personal": self.personal,
            "shift": [self.shift_minutes, self.unsampled],
            "type_data_only": self.type_data_only,
            **({"zero off": self.zero_off} if self.zero_off else {}),
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
    type_data_only: bool = False,
    zero_off: str = "",
    outdoor_at: OutdoorAt | None = None,
    use: UseOfPlace | None = None,
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
        type_data_only=type_data_only,
        zero_off=zero_off,
        outdoor_at=None if outdoors else outdoor_at,
        use=None if outdoors else use,
        pressure=pressure_at(campaign),
        clock=clock,
        clock_beside=clock_beside,
    )
