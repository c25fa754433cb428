"""The scenario into the database, and its log files through the real upload: nothing is put where a person could not.

Places, instruments and deployments are entered as a consultant would; the logs are handed to
``readings.services.receive`` and wait for a worker like any other upload.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction

from campaigns import models as m
from campaigns.models import Criterion, Limit
from campaigns.services import agreements, alert_levels, floor_plans
from campaigns.services.floor_plans import put_image
from demo.agreed import AGREED, AGREED_AT, UNMEASURED
from demo.kit import ANSWERS_TO
from demo.plans import sheet
from demo.scenario import ALERT_LEVEL, PASSWORD, SCENARIO
from demo.shapes import DemoFloor, DemoOrganisation, DemoRoom, DemoSite, Scenario
from demo.simulate import SEED, simulate
from methods.quantities.moments import stamp_ms
from readings.services.receive import receive
from reports.models import ExposureGroup
from reports.services.departures import explain
from reports.services.exposure_groups import choose

#: What people said a zone is; of offices nobody said, so that limits for workers stay an indication there.
PLACES = {"nursery": m.PlaceKind.SCHOOL.value}


@dataclass
class Loaded:
    campaign: m.Campaign
    people: dict[str, m.User]


def is_loaded(scenario: Scenario = SCENARIO) -> bool:
    return m.Organisation.objects.filter(name=scenario.organisations[0].name).exists()


def load(scenario: Scenario = SCENARIO, seed: int = SEED) -> Loaded:
    """Enter the scenario and hand in the logs of this ``seed``. Raises IntegrityError if it is there already."""
    with transaction.atomic():
        people: dict[str, m.User] = {}
        for entry in scenario.organisations:
            people |= _organisation(entry)
        organisation = m.Organisation.objects.get(name=scenario.organisations[0].name)
        site = m.Site.objects.get(organisation=organisation, name=scenario.site.name)
        instruments = _instruments(scenario, organisation)
        campaign = _campaign(scenario, site, instruments)
        _agree(campaign, people)
        alert_levels.make(campaign, people["consultant"].memberships.all(), **ALERT_LEVEL)
    field_staff = next(u for u in people.values() if u.memberships.filter(role=m.Role.FIELD).exists())
    for log in simulate(scenario, seed).logs:
        # No instrument is named: each file says its serial number.
        receive(SimpleUploadedFile(log.name, log.content), campaign, None, field_staff)
    return Loaded(campaign, people)


def _organisation(entry: DemoOrganisation) -> dict[str, m.User]:
    organisation = m.Organisation.objects.create(name=entry.name)
    clients = {}
    for site in entry.sites:
        clients[site.client], _ = m.Client.objects.get_or_create(organisation=organisation, name=site.client)
        _places(site, organisation, clients[site.client])
    people = {}
    for person in entry.people:
        first, _, last = person.name.partition(" ")
        user = m.User.objects.create_user(person.email, PASSWORD, first_name=first, last_name=last, house=organisation)
        client = clients[entry.sites[0].client] if person.role == m.Role.CLIENT else None
        m.Membership.objects.create(user=user, organisation=organisation, role=person.role, client=client)
        people[person.key] = user
    return people


def _places(entry: DemoSite, organisation: m.Organisation, client: m.Client) -> None:
    site = m.Site.objects.create(
        organisation=organisation, client=client, name=entry.name, address=entry.address,
        time_zone=entry.time_zone, altitude_m=entry.altitude_m,
    )  # fmt: skip
    rooms: dict[str, m.Room] = {}
    ground: m.Floor | None = None
    for b in entry.buildings:
        building = m.Building.objects.create(site=site, name=b.name)
        for f in b.floors:
            floor = m.Floor.objects.create(building=building, name=f.name, level=f.level)
            ground = ground or floor
            _sheet(f, floor)
            for z in f.zones:
                zone = m.Zone.objects.create(floor=floor, name=z.name, use=z.use, place_kind=PLACES.get(z.use, ""))
                for r in z.rooms:
                    rooms[r.code] = m.Room.objects.create(
                        zone=zone, name=room_name(r), area_m2=round(r.area_m2, 1), height_m=r.height_m,
                        notes=r.use, outline=[list(drawn(entry, *corner)) for corner in r.outline],
                    )  # fmt: skip
    for p in entry.points:
        x, y = drawn(entry, p.x_m, p.y_m)
        m.SamplingPoint(
            site=site, room=rooms[p.room] if p.room else None, name=p.name, kind=p.kind, height_m=p.height_m,
            x_m=x, y_m=y, beside=None if p.room else ground,
        ).save()  # fmt: skip


def _sheet(entry: DemoFloor, floor: m.Floor) -> None:
    """The plan sheet under the drawing, and its scale, as a consultant would set it."""
    plan = sheet(entry)
    put_image(floor, SimpleUploadedFile(f"{entry.name.lower().replace(' ', '-')}.svg", plan.svg))
    (x1, y1), (x2, y2), (x, y) = plan.first_px, plan.second_px, plan.origin_px
    scale = {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "length_m": plan.length_m}
    floor_plans.save(floor, {"version": 1, "scale": scale, "origin": {"x_px": x, "y_px": y}})


def drawn(entry: DemoSite, x_m: float, y_m: float) -> tuple[float, float]:
    """A place of the site on its floor plans, which have north on top and count down from there."""
    north = max(y for room in entry.rooms().values() for _, y in room.outline)
    return (round(x_m, 3), round(north - y_m, 3))


def _instruments(scenario: Scenario, organisation: m.Organisation) -> dict[str, m.Instrument]:
    types = {}
    for t in scenario.types:
        types[t.key] = kind = m.InstrumentType.objects.create(
            organisation=organisation, name=t.name, warm_up_s=t.warm_up_s, interference=t.interference,
            temperature_low_c=t.temperature_range_c[0], temperature_high_c=t.temperature_range_c[1],
        )  # fmt: skip
        for c in t.channels:
            m.ChannelSpec.objects.create(
                instrument_type=kind, parameter=c.parameter, unit=c.unit, resolution=c.resolution,
                range_low=c.range_low, range_high=c.range_high, detection_limit=c.detection_limit,
                t90_s=int(c.t90_s), u_zero=c.u_zero, u_span=c.u_span, u_drift=c.drift, u_span_drift=c.span_drift,
                u_temperature=c.u_temperature, u_interference=c.interference,
                answers_to=ANSWERS_TO.get(c.parameter, ""),
                reference_temperature_c=c.reference_temperature_c, reference_pressure_kpa=c.reference_pressure_kpa,
            )  # fmt: skip
    made = {}
    for i in scenario.instruments:
        made[i.key] = m.Instrument.objects.create(
            organisation=organisation, type=types[i.type], name=i.name, serial=i.serial,
            clock_basis=i.clock_basis, clock_offset_min=i.clock_offset_min,
        )  # fmt: skip
    _papers(scenario, made)
    return made


def _papers(scenario: Scenario, instruments: dict[str, m.Instrument]) -> None:
    def channel(instrument: str, parameter: str) -> m.Channel:
        return instruments[instrument].channels.get(spec__parameter=parameter)

    for c in scenario.calibrations:
        m.Calibration.objects.create(
            channel=channel(c.instrument, c.parameter), date=c.date, due=c.due, slope=c.slope, intercept=c.intercept
        )
    for f in scenario.field_checks:
        m.FieldCheck.objects.create(
            channel=channel(f.instrument, f.parameter), kind=f.kind, at=f.at, reference=f.reference,
            u_reference=f.u_reference, observed=f.observed,
        )  # fmt: skip
    for k in scenario.clock_checks:
        m.ClockCheck.objects.create(instrument=instruments[k.instrument], at=k.true, shown_ms=stamp_ms(k.shown))


def _campaign(scenario: Scenario, site: m.Site, instruments: dict[str, m.Instrument]) -> m.Campaign:
    entry = scenario.campaign
    campaign = m.Campaign.objects.create(
        site=site, name=entry.name, objective=entry.objective, starts_on=entry.starts, ends_on=entry.ends,
        protocol="Short visits with windows closed since the evening before; outdoor air at start and end of each day.",
    )  # fmt: skip
    points = {p.key: m.SamplingPoint.objects.get(site=site, **_where(scenario, p.key)) for p in scenario.site.points}
    planned: dict[str, Any] = dict.fromkeys(stop.point for stop in scenario.route)
    for key in planned:
        m.PlannedPoint.objects.create(campaign=campaign, point=points[key])
    for visit in scenario.visits:
        m.Deployment.objects.create(
            campaign=campaign, instrument=instruments[visit.instrument], point=points[visit.point],
            starts_at=visit.start, ends_at=visit.end, switched_on_at=visit.switched_on, notes=visit.notes,
        )  # fmt: skip
    for position, code in enumerate(entry.criteria):
        limit = Limit.objects.get(code=code, organisation__isnull=True)
        Criterion.objects.create(campaign=campaign, limit=limit, position=position)
    _group(campaign, *entry.group)
    return campaign


def _agree(campaign: m.Campaign, people: dict[str, m.User]) -> None:
    """As it was written, offered and accepted by the client before the visit; and what was left out of it, why."""
    consultant, client = people["consultant"], people["client"]
    row = agreements.draft(campaign, consultant, **AGREED)
    row = agreements.offer(row, consultant, at=AGREED_AT[0])
    agreements.accept(row, client, seen=row.digest, at=AGREED_AT[1])
    explain(campaign, UNMEASURED, consultant)


def _group(campaign: m.Campaign, name: str, zone: str, code: str) -> None:
    """Area samples of one zone as a group of similar exposure."""
    group = ExposureGroup.objects.create(
        campaign=campaign, name=name, criterion=campaign.criteria.get(limit__code=code),
        likeness="Desks, new carpet and furniture, the same windows; every visit in working hours.",
    )  # fmt: skip
    choose(group, campaign.deployments.filter(point__room__zone__name=zone))


def room_name(room: DemoRoom) -> str:
    """The number on the door, once."""
    return room.name if room.code in room.name else f"{room.code} {room.name}"


def _where(scenario: Scenario, key: str) -> dict[str, Any]:
    point = scenario.site.point(key)
    if point.room is None:
        return {"room__isnull": True, "name": point.name}
    return {"room__name": room_name(scenario.site.rooms()[point.room]), "name": point.name}
