"""A large campaign, made quickly: rooms, loggers carried through them twice, and what they stored. Invented throughout.

Everything goes in through the models and the store, so that it is what the app itself would have written; only the
logs are not written out as files first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from campaigns import models as m
from campaigns.models import Criterion, Job, Limit
from methods.quantities.moments import utc_ms
from readings.models import Upload
from readings.store import Batch, write
from reports.job_kinds import EVALUATE
from reports.services.evaluate import evaluate_campaign
from reports.services.release import sign_and_release
from tests import factories as make
from tests.agreeing import unagreed
from tests.bench.drawn import draw

#: Five for formaldehyde, two for CO2, two for temperature, one for humidity: each kind of average is among them.
LIMITS = (
    "HCHO-WHO10-30M", "HCHO-FR-VGAI", "HCHO-FI-545-A", "HCHO-EU-8H", "HCHO-EU-STEL",
    "CO2-DE-1000", "CO2-HC", "TRH-WHO", "TRH-JP-T", "TRH-JP-RH",
)  # fmt: skip
#: parameter, unit, resolution, range, detection limit; the usual level and how far rooms differ
CHANNELS = (
    ("formaldehyde", "ppm", 0.001, 5.0, 0.005, 0.045, 0.03),
    ("co2", "ppm", 1.0, 5000.0, None, 800.0, 300.0),
    ("temperature", "°C", 0.1, 60.0, None, 21.0, 2.0),
    ("humidity", "%", 0.1, 100.0, None, 45.0, 8.0),
)
VISITS = 2
BREAK = timedelta(minutes=30)
START = make.START


@dataclass
class Size:
    """``lines`` a visit, one a minute; each holds a reading of every channel. ``instruments`` is even."""

    rooms: int = 200
    rooms_a_zone: int = 2
    rooms_a_floor: int = 50
    instruments: int = 40
    lines: int = 1250

    @property
    def readings(self) -> int:
        return self.rooms * VISITS * self.lines * len(CHANNELS)


#: Held against each other by a test: the same pages ask as many queries in both.
SMALL = Size(rooms=2, rooms_a_zone=1, instruments=2, lines=40)
LARGER = Size(rooms=6, rooms_a_zone=2, rooms_a_floor=4, instruments=2, lines=60)


@dataclass
class BenchHouse:
    size: Size
    campaign: m.Campaign
    zones: list[m.Zone] = field(default_factory=list)
    points: list[m.SamplingPoint] = field(default_factory=list)
    instruments: list[m.Instrument] = field(default_factory=list)


def build(size: Size, limits: tuple[str, ...] = LIMITS) -> BenchHouse:
    """The campaign with everything entered and every log stored; not judged yet."""
    site = make.SiteFactory(time_zone="UTC")
    campaign = make.CampaignFactory(site=site, name="Every room twice", starts_on=date(2026, 9, 1))
    house = BenchHouse(size, campaign)
    _rooms(house)
    _instruments(house)
    for place, instrument in enumerate(house.instruments):
        _carry(house, place, instrument)
    for position, code in enumerate(limits):
        Criterion.objects.create(campaign=campaign, limit=Limit.objects.get(code=code), position=position)
    return house


def judge(house: BenchHouse) -> None:
    """As the worker would do it."""
    organisation = house.campaign.site.organisation
    wanted = {"kind": EVALUATE, "subject_id": house.campaign.pk, "state": Job.State.QUEUED}
    job, _ = Job.objects.get_or_create(**wanted, defaults={"organisation": organisation})
    taken = Job.take(job.pk)
    assert taken is not None
    outcome = evaluate_campaign(taken)
    assert outcome[:2] == (Job.State.DONE, "judged"), outcome
    Job.objects.filter(pk=job.pk).update(state=outcome[0])


def release(house: BenchHouse) -> None:
    """Signed and released, without a PDF."""
    by, organisation = make.UserFactory(last_name="Lintel"), house.campaign.site.organisation
    m.Membership.objects.create(user=by, organisation=organisation, role=m.Role.CONSULTANT)
    unagreed(house.campaign)
    sign_and_release(house.campaign, by)


def _rooms(house: BenchHouse) -> None:
    building = make.BuildingFactory(site=house.campaign.site, name="The long house")
    floors: list[tuple[m.Floor, list[m.Room]]] = []
    for n in range(house.size.rooms):
        if n % house.size.rooms_a_floor == 0:
            level = len(floors)
            floors.append((make.FloorFactory(building=building, name=f"Floor {level}", level=level), []))
        floor, rooms = floors[-1]
        if n % house.size.rooms_a_zone == 0:
            house.zones.append(make.ZoneFactory(floor=floor, name=f"Zone {n // house.size.rooms_a_zone + 1}"))
        rooms.append(make.RoomFactory(zone=house.zones[-1], name=f"Room {n + 1}"))
        house.points.append(make.PointFactory(room=rooms[-1], name="centre"))
    for floor, rooms in floors:
        draw(floor, rooms)
    for point in house.points:
        m.PlannedPoint.objects.create(campaign=house.campaign, point=point)


def _instruments(house: BenchHouse) -> None:
    organisation = house.campaign.site.organisation
    kind = make.InstrumentTypeFactory(organisation=organisation, name="room logger")
    for parameter, unit, resolution, top, detection, *_ in CHANNELS:
        extra = {} if parameter == "formaldehyde" else {
            "u_zero": resolution, "u_span": 0.02, "u_drift": None, "u_temperature": None, "u_interference": None,
        }  # fmt: skip
        make.ChannelSpecFactory(
            instrument_type=kind, parameter=parameter, unit=unit, resolution=resolution, range_high=top,
            detection_limit=detection, **extra,
        )  # fmt: skip
    for n in range(house.size.instruments):
        instrument = make.InstrumentFactory(
            organisation=organisation, type=kind, name=f"logger {n + 1}", clock_basis="utc", channel=False
        )
        house.instruments.append(instrument)
        for channel in instrument.channels.select_related("spec"):
            m.Calibration.objects.create(channel=channel, date=date(2026, 3, 2), due=date(2027, 3, 2))
            if channel.spec.parameter == "formaldehyde":
                for hours in (-2, 24 * 30):
                    at = START + timedelta(hours=hours)
                    m.FieldCheck.objects.create(channel=channel, kind="zero", at=at, reference=0, observed=0.001)


def _visits(house: BenchHouse, place: int) -> Iterator[m.SamplingPoint]:
    """The points at which one instrument stands, in turn. On the second round two neighbours have changed places, so
    that two instruments come to each zone, however large the house is."""
    count = house.size.instruments
    for visit in range(VISITS):
        yield from house.points[place ^ visit :: count]


def _carry(house: BenchHouse, place: int, instrument: m.Instrument) -> None:
    """Its deployments, one after the other, and one log with everything it stored."""
    size = house.size
    random = np.random.default_rng(place)
    stay = timedelta(minutes=size.lines)
    deployments, stamps, levels = [], [], []
    for n, point in enumerate(_visits(house, place)):
        start = START + n * (stay + BREAK)
        deployments.append(
            m.Deployment(
                campaign=house.campaign, instrument=instrument, point=point, starts_at=start, ends_at=start + stay
            )
        )
        stamps.append(utc_ms(start) + 60_000 * np.arange(size.lines, dtype=np.int64))
        levels.append(np.random.default_rng(point.pk).normal(size=len(CHANNELS)))
    if not deployments:
        return
    m.Deployment.objects.bulk_create(deployments)
    stamp = np.concatenate(stamps)
    n = len(stamp)
    upload = Upload.objects.create(
        campaign=house.campaign, instrument=instrument, filename=f"{instrument.name}.csv", size=40 * n,
        sha256=f"{place:064x}", state=Upload.State.READ, lines=n, stored=n * len(CHANNELS),
        first_stamp_ms=int(stamp[0]), last_stamp_ms=int(stamp[-1]),
    )  # fmt: skip
    zeros, line = np.zeros(n, dtype=np.int64), np.arange(2, n + 2)
    batches = []
    channels = {channel.spec.parameter: channel for channel in instrument.channels.select_related("spec")}
    for k, (parameter, _, step, *_, usual, apart) in enumerate(CHANNELS):
        level = np.repeat([usual + apart * one[k] for one in levels], size.lines)
        raw = np.maximum(level + 0.1 * apart * random.normal(size=n), 0.0)
        raw = np.round(np.round(raw / step) * step, 4)
        batches.append(Batch(channels[parameter].pk, upload.pk, stamp, zeros, raw, zeros, line))
    write(batches)
