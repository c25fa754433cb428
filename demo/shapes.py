"""The words the demo scenario is written in: frozen dataclasses, no behaviour beyond look-ups.

Pure. Times are aware UTC ``datetime``; what a logger's own clock shows is a naive ``datetime``. Lengths are metres,
positions are metres from the building's south-west corner (x east, y north).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date as Day
from datetime import datetime


@dataclass(frozen=True, slots=True)
class DemoPerson:
    key: str
    name: str
    email: str
    role: str  # consultant | field | client


@dataclass(frozen=True, slots=True)
class DemoRoom:
    code: str
    name: str
    use: str
    height_m: float
    x_m: float
    y_m: float
    width_m: float
    depth_m: float
    step_west_m: float = 0.0
    step_east_m: float = 0.0

    @property
    def area_m2(self) -> float:
        """Floor area in m²."""
        return self.width_m * self.depth_m

    @property
    def volume_m3(self) -> float:
        """Air volume in m³."""
        return self.area_m2 * self.height_m

    @property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """The corners in metres, anticlockwise from the south-west.

        A wall with a step lies that much farther east on the southern half and as much farther west on the northern
        one: two neighbours with the same step are L-shaped and keep their areas.
        """
        x, y, d, half = self.x_m, self.y_m, self.depth_m, self.y_m + self.depth_m / 2
        west, east, far = self.step_west_m, self.step_east_m, x + self.width_m
        corners = [(x + west, y), (far + east, y)]
        corners += [(far + east, half), (far - east, half)] if east else []
        corners += [(far - east, y + d), (x - west, y + d)]
        corners += [(x - west, half), (x + west, half)] if west else []
        return tuple(corners)


@dataclass(frozen=True, slots=True)
class DemoZone:
    key: str
    name: str
    use: str
    rooms: tuple[DemoRoom, ...]


@dataclass(frozen=True, slots=True)
class DemoFloor:
    level: int
    name: str
    zones: tuple[DemoZone, ...]


@dataclass(frozen=True, slots=True)
class DemoBuilding:
    name: str
    floors: tuple[DemoFloor, ...]

    def zones(self) -> Iterator[DemoZone]:
        """Every zone, floor by floor from the ground."""
        for floor in self.floors:
            yield from floor.zones


@dataclass(frozen=True, slots=True)
class DemoPoint:
    key: str
    name: str
    kind: str  # room_air | enclosed | outdoor
    height_m: float
    room: str | None  # room code; None outdoors
    x_m: float
    y_m: float


@dataclass(frozen=True, slots=True)
class DemoSite:
    key: str
    name: str
    address: str
    client: str
    time_zone: str
    altitude_m: float
    buildings: tuple[DemoBuilding, ...]
    points: tuple[DemoPoint, ...]

    def rooms(self) -> dict[str, DemoRoom]:
        """Every room of the site by its code."""
        return {r.code: r for b in self.buildings for z in b.zones() for r in z.rooms}

    def zone_of_room(self) -> dict[str, DemoZone]:
        """The zone of every room, by room code."""
        return {r.code: z for b in self.buildings for z in b.zones() for r in z.rooms}

    def point(self, key: str) -> DemoPoint:
        """The sampling point called ``key``; KeyError if there is none."""
        return {p.key: p for p in self.points}[key]


@dataclass(frozen=True, slots=True)
class DemoChannel:
    """What one column of an instrument measures; every figure but ``u_span`` is in ``unit``.

    ``u_zero``, ``u_span`` (relative), ``u_temperature`` and ``interference`` are standard uncertainties; ``drift`` is
    the zero drift allowed for a day without a check, as a standard uncertainty, ``span_drift`` that of the span,
    relative. ``reference_*`` say at what temperature and pressure a mass concentration is expressed; they are None for
    everything that is not one.
    """

    parameter: str
    unit: str
    resolution: float
    detection_limit: float | None
    range_low: float
    range_high: float
    t90_s: float
    u_zero: float
    u_span: float
    drift: float
    u_temperature: float
    interference: float
    reference_temperature_c: float | None = None
    reference_pressure_kpa: float | None = None
    span_drift: float = 0.0


@dataclass(frozen=True, slots=True)
class DemoInstrumentType:
    key: str
    name: str
    principle: str
    interference: str  # in words
    log_interval_s: int
    stores: str  # spot | mean (a mean is stamped at the end of its interval)
    warm_up_s: int
    battery_h: float
    memory_points: int
    temperature_range_c: tuple[float, float]
    humidity_range: tuple[float, float]
    channels: tuple[DemoChannel, ...]

    def channel(self, parameter: str) -> DemoChannel:
        """The channel for ``parameter``; KeyError if the type has none."""
        return {c.parameter: c for c in self.channels}[parameter]


@dataclass(frozen=True, slots=True)
class DemoInstrument:
    key: str
    name: str
    serial: str
    type: str
    clock_basis: str  # site | utc | fixed
    clock_offset_min: int = 0  # minutes ahead of UTC of a fixed clock


@dataclass(frozen=True, slots=True)
class DemoCalibration:
    """Corrected = slope · reading + intercept (the slope of docs/methods/correction.md)."""

    instrument: str
    parameter: str
    date: Day
    due: Day
    slope: float
    intercept: float


@dataclass(frozen=True, slots=True)
class DemoFieldCheck:
    instrument: str
    parameter: str
    kind: str  # zero | span
    at: datetime
    reference: float
    observed: float

    @property
    def u_reference(self) -> float:
        """Zero air is clean; span gas is certified to 2 %."""
        return 0.02 * self.reference


@dataclass(frozen=True, slots=True)
class DemoClockCheck:
    instrument: str
    shown: datetime  # naive: the logger's own clock
    true: datetime
    made: str  # "on site", or "afterwards": found only when the meter was back in the office


@dataclass(frozen=True, slots=True)
class DemoStop:
    """One line of the planned route; ``skipped`` says why nobody measured there."""

    order: int
    instrument: str
    point: str
    planned_start: datetime
    minutes: int
    skipped: str = ""


@dataclass(frozen=True, slots=True)
class DemoVisit:
    """One deployment as written up: an instrument at a point from ``start`` to ``end``."""

    key: str
    instrument: str
    point: str
    start: datetime
    end: datetime
    switched_on: datetime
    notes: str = ""


@dataclass(frozen=True, slots=True)
class DemoCampaign:
    name: str
    objective: str
    starts: Day
    ends: Day
    parameters: tuple[str, ...]
    criteria: tuple[str, ...]
    #: A group of similar exposure: its name, the zone it works in, the code of the limit it is held against.
    group: tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class DemoOrganisation:
    key: str
    name: str
    people: tuple[DemoPerson, ...]
    sites: tuple[DemoSite, ...]


@dataclass(frozen=True, slots=True)
class Scenario:
    """Everything a loader needs; ``site`` and all that follows belong to the first organisation."""

    organisations: tuple[DemoOrganisation, ...]
    campaign: DemoCampaign
    types: tuple[DemoInstrumentType, ...]
    instruments: tuple[DemoInstrument, ...]
    calibrations: tuple[DemoCalibration, ...]
    field_checks: tuple[DemoFieldCheck, ...]
    clock_checks: tuple[DemoClockCheck, ...]
    route: tuple[DemoStop, ...]
    visits: tuple[DemoVisit, ...]

    @property
    def site(self) -> DemoSite:
        """The site of the campaign."""
        return self.organisations[0].sites[0]

    def instrument(self, key: str) -> DemoInstrument:
        """The instrument called ``key``; KeyError if there is none."""
        return {i.key: i for i in self.instruments}[key]

    def type_of(self, instrument: str) -> DemoInstrumentType:
        """The type of the instrument called ``instrument``."""
        return {t.key: t for t in self.types}[self.instrument(instrument).type]

    def visits_of(self, instrument: str) -> tuple[DemoVisit, ...]:
        """The instrument's visits in time order."""
        return tuple(sorted((v for v in self.visits if v.instrument == instrument), key=lambda v: v.start))
