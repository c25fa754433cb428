"""The log files of the demo and the truth behind them.

Pure and deterministic: the same scenario and seed give the same bytes.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from demo.files import WRITERS, LogTable
from demo.meters import FAULTS, FINE_MS, shown_clock, stored, true_time
from demo.physics import CABINET, HouseAir, build, to_mg_m3
from demo.rounds import InstrumentStay, Session, sessions
from demo.shapes import DemoChannel, DemoVisit, Scenario
from methods.quantities.arrays import Floats, Ints

SEED = 20260914
NAMES = {"A": "meter-a", "B": "meter-b", "C": "meter-c", "L1": "logger-1", "L2": "logger-2"}
ENDINGS = {"A": "csv", "B": "csv", "C": "txt", "L1": "csv", "L2": "csv"}
FIRST_DOWNLOAD = datetime(2026, 9, 14, 17, 0, tzinfo=UTC)  # meter C, evening of the first day
#: What the corridors and the van are like, in case an instrument is on between rooms.
ELSEWHERE = {"formaldehyde": 0.018, "co2": 520.0, "temperature": 22.6, "humidity": 48.0}
WIPE_HOURS = 9.72  # 11:43 local, before the nap
PPB_PER_PPM, UG_PER_MG = 1000.0, 1000.0


@dataclass(frozen=True, slots=True)
class LogFile:
    name: str
    instrument_key: str
    content: bytes


@dataclass(frozen=True, slots=True)
class DeploymentTruth:
    """What the air at a deployment's point truly was, minute by minute from its start to its end (all shape (n,)).

    ``mg_m3`` and ``mean_mg_m3`` are at 25 °C and 101.325 kPa; ppm needs no reference.
    """

    key: str
    utc_ms: Ints
    ppm: Floats
    mg_m3: Floats
    co2_ppm: Floats
    temperature_c: Floats
    humidity: Floats

    @property
    def mean_ppm(self) -> float:
        """Time mean over the deployment, ppm."""
        return float(self.ppm.mean())

    @property
    def mean_mg_m3(self) -> float:
        """Time mean over the deployment, mg/m³ at 25 °C and 101.325 kPa."""
        return float(self.mg_m3.mean())

    def worst_ppm(self, minutes: int) -> float | None:
        """The highest mean over ``minutes`` in a row inside the deployment, ppm; None if it is shorter than that."""
        if len(self.ppm) < minutes:
            return None
        total = np.concatenate(([0.0], np.cumsum(self.ppm)))
        return float((total[minutes:] - total[:-minutes]).max() / minutes)


@dataclass(frozen=True, slots=True)
class LineTruth:
    """The true time of every data line of a file: ``line`` counts from 1, preamble included; ``utc_ms`` (n,)."""

    line: Ints
    utc_ms: Ints


@dataclass(frozen=True, slots=True)
class Truth:
    deployments: dict[str, DeploymentTruth]
    lines: dict[str, LineTruth]


@dataclass(frozen=True, slots=True)
class Simulation:
    logs: list[LogFile]
    truth: Truth


def simulate(scenario: Scenario, seed: int = SEED) -> Simulation:
    """Let the instruments of ``scenario`` go their rounds through the simulated house.

    Returns:
        The files in the order in which they were downloaded, meter C's two downloads included, and the truth.
    """
    house = build(scenario.site, seed)
    logs: list[LogFile] = []
    lines: dict[str, LineTruth] = {}
    for instrument in scenario.instruments:
        memory = _memory(scenario, house, instrument.key, seed)
        for suffix, table in _downloads(scenario, instrument.key, memory):
            written = WRITERS[instrument.type](table, instrument, scenario.type_of(instrument.key))
            name = f"{NAMES[instrument.key]}{suffix}.{ENDINGS[instrument.key]}"
            logs.append(LogFile(name, instrument.key, written.content))
            lines[name] = LineTruth(written.first_line + np.arange(len(table), dtype=np.int64), table.utc_ms)
    deployments = {visit.key: _deployment(scenario, house, visit) for visit in scenario.visits}
    return Simulation(logs, Truth(deployments, lines))


def _downloads(scenario: Scenario, instrument: str, memory: LogTable) -> Iterator[tuple[str, LogTable]]:
    """Meter C was read out twice; its memory is a ring, so the second download has lost the first rooms."""
    held = scenario.type_of(instrument).memory_points
    if instrument != "C":
        yield "", memory.part(slice(-held, None))
        return
    early = memory.utc_ms < int(FIRST_DOWNLOAD.timestamp() * 1000)
    yield "-monday", memory.part(early).part(slice(-held, None))
    yield "-tuesday", memory.part(slice(-held, None))


def _memory(scenario: Scenario, house: HouseAir, instrument: str, seed: int) -> LogTable:
    random = np.random.default_rng([seed, zlib.crc32(instrument.encode())])
    parts = [_run(scenario, house, session, random) for session in sessions(scenario, instrument, random)]
    values = {name: np.concatenate([part.values[name] for part in parts]) for name in parts[0].values}
    stamps = np.concatenate([part.stamps for part in parts])
    return LogTable(stamps, np.concatenate([part.utc_ms for part in parts]), values)


def _run(scenario: Scenario, house: HouseAir, session: Session, random: np.random.Generator) -> LogTable:
    kind = scenario.type_of(session.instrument)
    fine = np.arange(_ms(session.on), _ms(session.off) + 1, FINE_MS, dtype=np.int64)
    logged = np.concatenate([_instants(scenario, session, start, end) for start, end in session.stored])
    values = {}
    for channel in kind.channels:
        air = _inlet(house, session, channel, fine)
        values[channel.parameter] = stored(channel, kind, session.instrument, air, (fine, logged), random)
    shown = shown_clock(logged, scenario.instrument(session.instrument), scenario.site.time_zone)
    return LogTable(shown, logged, values)


def _instants(scenario: Scenario, session: Session, start: datetime, end: datetime) -> Ints:
    """True times of the stored values: whole seconds, or whole intervals in loggers, of the instrument's own clock."""
    kind = scenario.type_of(session.instrument)
    instrument, zone = scenario.instrument(session.instrument), scenario.site.time_zone
    interval = kind.log_interval_s * 1000
    edges = np.array([_ms(start), _ms(end)], dtype=np.int64)
    first, last = shown_clock(edges, instrument, zone).tolist()
    mark = interval if kind.stores == "mean" else 1000
    first = -(-first // mark) * mark
    if kind.stores == "mean":
        first += interval  # a whole interval has to pass before there is a mean
    return true_time(np.arange(first, last + 1, interval, dtype=np.int64), instrument, zone)


def _inlet(house: HouseAir, session: Session, channel: DemoChannel, fine: Ints) -> Floats:
    """What the inlet draws on the ten-second grid, in the channel's unit."""
    scale = _scale(channel)
    air = np.full(len(fine), ELSEWHERE[channel.parameter] * scale)
    for stay in session.stays:
        during = (fine >= _ms(stay.start)) & (fine < _ms(stay.end))
        air[during] = _level(house, stay, channel.parameter, fine[during]) * scale
    wipes = FAULTS[session.instrument].wipes
    if wipes and channel.parameter == "formaldehyde":
        since = np.mod(fine / 3.6e6 - WIPE_HOURS, 24.0) * 60
        air += wipes * np.exp(-since / 12.0)
    return air


def _level(house: HouseAir, stay: InstrumentStay, parameter: str, at: Ints) -> Floats | float:
    if stay.place not in house.ppm:  # a gas from a bag: the sensor sees it, the climate probe does not
        return stay.level if parameter == "formaldehyde" else ELSEWHERE[parameter]
    series = {
        "formaldehyde": house.ppm,
        "co2": house.co2_ppm,
        "temperature": house.temperature_c,
        "humidity": house.humidity,
    }[parameter]
    return np.interp(at, house.utc_ms, series[stay.place])


def _scale(channel: DemoChannel) -> float:
    """From ppm to the channel's unit at the channel's own reference; 1 for what is not formaldehyde."""
    if channel.parameter != "formaldehyde" or channel.unit == "ppm":
        return 1.0
    if channel.unit == "ppb":
        return PPB_PER_PPM
    temperature_c, pressure_kpa = channel.reference_temperature_c, channel.reference_pressure_kpa
    if temperature_c is None or pressure_kpa is None:
        raise ValueError(f"a channel in {channel.unit} has to state its reference temperature and pressure")
    return float(to_mg_m3(np.ones(1), temperature_c, pressure_kpa * 1000)[0]) * UG_PER_MG


def _deployment(scenario: Scenario, house: HouseAir, visit: DemoVisit) -> DeploymentTruth:
    point = scenario.site.point(visit.point)
    place = CABINET if point.kind == "enclosed" else point.room or "out"
    during = (house.utc_ms >= _ms(visit.start)) & (house.utc_ms < _ms(visit.end))
    ppm = house.ppm[place][during]
    return DeploymentTruth(
        visit.key,
        house.utc_ms[during],
        ppm,
        to_mg_m3(ppm),
        house.co2_ppm[place][during],
        house.temperature_c[place][during],
        house.humidity[place][during],
    )


def _ms(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)
