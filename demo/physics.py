"""The air of the house: well-mixed rooms with materials that give off formaldehyde and people who give off CO2.

Pure numpy. Concentrations inside are mass per volume of the air as it is (µg/m³) for formaldehyde and parts per
million for CO2; air change is per hour; the grid is one minute, UTC, milliseconds.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from demo.materials import AIR, EMISSION, OCCUPANTS, WARMER, Occupancy
from demo.shapes import DemoRoom, DemoSite
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS

GAS_CONSTANT = 8.314462618  # J/(mol·K), docs/methods/units.md
MOLAR_MASS_HCHO = 30.026  # g/mol, docs/methods/units.md
CO2_PER_ADULT_M3_H = 0.31 * 60 / 1000  # 0.31 L/min seated, check value V-04/V-05 (ASTM D6245 before 2018, from memory)
STEP_MS = MINUTE_MS
START = datetime(2026, 9, 13, 0, 0, tzinfo=UTC)  # a day and a half before the first reading: nothing of it shows
DAYS = 4
CABINET = "0.06-cab"
CABINET_M3, CABINET_LEAK, CABINET_UG_H = 0.62, 0.30, 154.0


@dataclass(frozen=True, slots=True)
class HouseAir:
    """What the air truly was: ``utc_ms`` (n,), and per place (room code, cabinet, "out") arrays of length n."""

    utc_ms: Ints
    ug_m3: dict[str, Floats]
    ppm: dict[str, Floats]
    co2_ppm: dict[str, Floats]
    temperature_c: dict[str, Floats]
    humidity: dict[str, Floats]


def emission_factor(temperature_c: Floats, humidity: Floats) -> Floats:
    """Emission relative to 25 °C and 50 %RH, same shape as inputs.

    Method: docs/methods/demo-air.md: 24 CFR 3280.406 text before 2020.
    """
    kelvin = temperature_c + 273.15
    factor: Floats = np.exp(-9799.0 * (1 / kelvin - 1 / 298.15)) * (1 + 0.0175 * (humidity - 50.0))
    return factor


def well_mixed(start: float, source: Floats, air_change: Floats, supply: Floats, step_h: float) -> Floats:
    """Concentration of a well-mixed room, exact for inputs constant over each step.

    V dC/dt = E − Q (C − C_supply), with ``source`` = E/V per hour and ``air_change`` = Q/V per hour.

    Args:
        start: concentration at the first instant.
        source, air_change, supply: (n − 1,) or (n,) values over each step; a last surplus value is not used.
        step_h: length of a step in hours.

    Returns:
        (n,) concentrations, where n is the length of the inputs; the first is ``start``.
    """
    steps = len(source)
    keep = np.exp(-air_change * step_h)
    sealed = air_change <= 0
    rate = np.where(sealed, 1.0, air_change)
    gain = np.where(sealed, source * step_h, (supply + source / rate) * (1 - keep))
    result = np.empty(steps)
    level = start
    for k, (kept, gained) in enumerate(zip(keep.tolist(), gain.tolist(), strict=True)):
        result[k] = level
        level = level * kept + gained
    return result


def to_ppm(ug_m3: Floats, temperature_c: Floats, pressure_pa: float) -> Floats:
    """Formaldehyde volume fraction in ppm from µg/m³ at the stated temperature and pressure (docs/methods/units.md)."""
    result: Floats = ug_m3 * 1e-6 / MOLAR_MASS_HCHO * GAS_CONSTANT * (temperature_c + 273.15) / pressure_pa * 1e6
    return result


def to_mg_m3(ppm: Floats, temperature_c: float = 25.0, pressure_pa: float = 101_325.0) -> Floats:
    """Formaldehyde in mg/m³ at a stated reference state from ppm (docs/methods/units.md)."""
    result: Floats = ppm * MOLAR_MASS_HCHO * pressure_pa / (GAS_CONSTANT * (temperature_c + 273.15)) * 1e-3
    return result


def station_pressure(altitude_m: float) -> float:
    """Pressure in Pa at an altitude in the ISO 2533 standard atmosphere (troposphere)."""
    return float(101_325.0 * (1 - 0.0065 * altitude_m / 288.15) ** 5.25588)


def grid() -> Ints:
    """The minutes of the simulation, UTC milliseconds."""
    first = int(START.timestamp() * 1000)
    return first + STEP_MS * np.arange(DAYS * 24 * 60, dtype=np.int64)


def local_hours(utc_ms: Ints, time_zone: str) -> Floats:
    """Hour of the local day, 0 to 24; the campaign lies inside one offset, which the first minute tells."""
    first = datetime.fromtimestamp(int(utc_ms[0]) / 1000, tz=ZoneInfo(time_zone))
    offset = first.utcoffset()
    seconds = 0.0 if offset is None else offset.total_seconds()
    return np.mod(utc_ms / 3.6e6 + seconds / 3600, 24.0)


def _wave(hours: Floats, peak: float) -> Floats:
    result: Floats = np.cos(2 * np.pi * (hours - peak) / 24)
    return result


def climate(room: DemoRoom, hours: Floats) -> tuple[Floats, Floats]:
    """Temperature (°C) and relative humidity (%) of a room over the day; upper floors and the south side are warmer."""
    level = int(room.code[0])
    sun = 0.7 if room.y_m == 0 else 0.3
    temperature = 22.4 + 0.5 * level + WARMER.get(room.code, 0.0) + sun * _wave(hours, 15.5)
    return temperature, 49.0 - 2.2 * (temperature - 22.5) + 1.5 * _wave(hours, 9.0)


def ventilation(code: str, zone: str, hours: Floats) -> Floats:
    """Air changes per hour: the plant runs from 06:30 to 19:00."""
    day, night = AIR.get(code, AIR[zone])
    return np.where((hours >= 6.5) & (hours < 19.0), day, night)


def unevenness(code: str, seed: int, steps: int) -> tuple[float, Floats]:
    """How a room differs from its zone: a fixed factor on its emission, and a slow wandering factor on its air change.

    The wandering (doors, wind, lift) is a sum of sines of 25 to 200 minutes, so it is smooth on the minute grid.
    """
    random = np.random.default_rng([seed, zlib.crc32(code.encode())])
    fixed = float(random.uniform(0.93, 1.07))
    minutes = np.arange(steps)
    periods, phases = random.uniform(25, 200, 5), random.uniform(0, 2 * np.pi, 5)
    waves = np.sin(2 * np.pi * minutes[:, None] / periods + phases)
    return fixed, 1.0 + 0.05 * waves.sum(axis=1)


def people(occupancy: Occupancy | None, hours: Floats) -> Floats:
    """Number of adult equivalents in a room over the day."""
    present = np.zeros_like(hours)
    for start, end, adults in occupancy or ():
        present = np.where((hours >= start) & (hours < end), adults, present)
    return present


def build(site: DemoSite, seed: int) -> HouseAir:
    """Solve every room of the site on the minute grid; ``seed`` sets how the rooms of a zone differ.

    The cabinet is a small sealed room that breathes with its kitchen. Time-of-day inputs are the same every day, so
    the first simulated day settles the start.
    """
    utc_ms = grid()
    hours = local_hours(utc_ms, site.time_zone)
    pressure = station_pressure(site.altitude_m)
    house = HouseAir(utc_ms, {}, {}, {}, {}, {})
    outdoor_t = 16.5 + 4.5 * _wave(hours, 15.0)
    weather = outdoor_t, 72 - 2.5 * (outdoor_t - 16)
    _put(house, "out", 2.8 + 0.6 * _wave(hours, 17.0), 425.0 + 12 * _wave(hours, 5.0), weather, pressure)
    zones = site.zone_of_room()
    for code, room in site.rooms().items():
        uneven = unevenness(code, seed, len(hours))
        _room(house, room, zones[code].key, uneven, (hours, pressure))
    _cabinet(house, pressure)
    return house


def _room(house: HouseAir, room: DemoRoom, zone: str, uneven: tuple[float, Floats], when: tuple[Floats, float]) -> None:
    hours, pressure = when
    fixed, wandering = uneven
    temperature, humidity = climate(room, hours)
    change = ventilation(room.code, zone, hours) * wandering
    per_area = EMISSION.get(room.code, EMISSION[zone]) * fixed
    source = per_area * emission_factor(temperature, humidity) / room.height_m
    air = well_mixed(2.8 + source[0] / change[0], source, change, house.ug_m3["out"], 1 / 60)
    breath = people(OCCUPANTS.get(room.code), hours) * CO2_PER_ADULT_M3_H / room.volume_m3 * 1e6
    co2 = well_mixed(425.0, breath, change, house.co2_ppm["out"], 1 / 60)
    _put(house, room.code, air, co2, (temperature, humidity), pressure)


def _cabinet(house: HouseAir, pressure: float) -> None:
    kitchen = CABINET.split("-")[0]
    temperature, humidity = house.temperature_c[kitchen], house.humidity[kitchen]
    source = CABINET_UG_H * emission_factor(temperature, humidity) / CABINET_M3
    leak = np.full_like(source, CABINET_LEAK)
    air = well_mixed(float(source[0]) / CABINET_LEAK, source, leak, house.ug_m3[kitchen], 1 / 60)
    _put(house, CABINET, air, house.co2_ppm[kitchen], (temperature, humidity), pressure)


def _put(
    house: HouseAir, place: str, ug_m3: Floats, co2: Floats, climate_: tuple[Floats, Floats], pressure: float
) -> None:
    house.ug_m3[place] = ug_m3
    house.co2_ppm[place] = co2
    house.temperature_c[place], house.humidity[place] = climate_
    house.ppm[place] = to_ppm(ug_m3, climate_[0], pressure)
