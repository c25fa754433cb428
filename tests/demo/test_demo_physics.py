"""The simulated house against analytic solutions and published coefficients."""

from __future__ import annotations

import math

import numpy as np
import pytest

from demo.meters import noise, quantise, respond
from demo.physics import (
    CABINET,
    CO2_PER_ADULT_M3_H,
    build,
    emission_factor,
    local_hours,
    station_pressure,
    to_mg_m3,
    to_ppm,
    well_mixed,
)
from demo.scenario import SCENARIO
from demo.simulate import SEED


def constant(value: float, steps: int) -> np.ndarray:
    return np.full(steps, value)


class TestWellMixedRoom:
    def test_decay_of_v03(self) -> None:
        """V-03 (equation form of ASTM E741 / Batterman 2017): 2000 → 800 ppm over outdoor 400 in 1 h is 1.38629 /h."""
        steps = 61
        air = well_mixed(2000.0, constant(0, steps), constant(1.38629, steps), constant(400, steps), 1 / 60)
        assert air[0] == 2000.0
        assert air[60] == pytest.approx(800.0, abs=0.01)

    @pytest.mark.parametrize(("air_change", "minutes"), [(1, 138), (2, 69), (6, 23), (12, 12)])
    def test_time_to_remove_nine_tenths(self, air_change: float, minutes: int) -> None:
        """V-01 (CDC, MMWR 43(RR-13), 1994, Table S3-1): minutes to 90 % removal, rounded."""
        steps = 200
        air = well_mixed(1.0, constant(0, steps), constant(air_change, steps), constant(0, steps), 1 / 60)
        assert abs(int(np.argmax(air <= 0.1)) - minutes) <= 1

    def test_steady_state_is_source_over_air_change(self) -> None:
        """E/(N·V) above the supply; and 1 − 1/e of the way there after one time constant."""
        steps = 1201
        air = well_mixed(3.0, constant(50.0, steps), constant(0.5, steps), constant(3.0, steps), 1 / 60)
        assert air[-1] == pytest.approx(3.0 + 50.0 / 0.5, rel=1e-4)
        assert air[120] == pytest.approx(3.0 + 100.0 * (1 - math.exp(-1)), rel=1e-12)

    def test_step_length_does_not_matter(self) -> None:
        """Inputs constant over a step are solved exactly: sixty steps of a minute equal one of an hour."""
        fine = well_mixed(10.0, constant(40, 61), constant(0.7, 61), constant(5, 61), 1 / 60)
        coarse = well_mixed(10.0, constant(40, 2), constant(0.7, 2), constant(5, 2), 1.0)
        assert fine[60] == pytest.approx(coarse[1], rel=1e-12)

    def test_sealed_room_fills_in_proportion_to_time(self) -> None:
        air = well_mixed(1.0, constant(6.0, 121), constant(0.0, 121), constant(99.0, 121), 1 / 60)
        assert air[120] == pytest.approx(1.0 + 6.0 * 2)

    def test_people_and_fresh_air_balance_as_in_v04(self) -> None:
        """V-04 (ASHRAE 62 appendix, from memory): 0.31 L/min and 7.5 L/s per person give 689 ppm over outdoor."""
        volume = 50.0
        change = 7.5 * 3.6 / volume
        steps = 3000
        source = constant(CO2_PER_ADULT_M3_H / volume * 1e6, steps)
        air = well_mixed(400.0, source, constant(change, steps), constant(400.0, steps), 1 / 60)
        assert air[-1] - 400.0 == pytest.approx(689.0, abs=1.0)


class TestEmission:
    """24 CFR 3280.406 text before 2020, the form of docs/methods/demo-air.md: check values F-01, F-02, F-06 to F-08."""

    @pytest.mark.parametrize(
        ("temperature_c", "humidity", "measured", "normalised", "tolerance"),
        [
            (25.0, 50.0, 1.0, 1.0, 1e-12),  # F-01
            (30.0, 70.0, 0.100, 0.0431, 1e-4),  # F-06
            (20.0, 30.0, 0.100, 0.2695, 1e-4),  # F-07
            (23.0, 45.0, 0.100, 0.1368, 1e-4),  # F-08
        ],
    )
    def test_factor(
        self, temperature_c: float, humidity: float, measured: float, normalised: float, tolerance: float
    ) -> None:
        factor = emission_factor(np.array([temperature_c]), np.array([humidity]))[0]
        assert measured / factor == pytest.approx(normalised, abs=tolerance)

    def test_factors_by_fahrenheit(self) -> None:
        """F-02 (ASTM E1333 annex as remembered, from memory): multiply-by factors at 50 %RH for 72 … 78 °F."""
        celsius = (np.array([72, 73, 74, 75, 76, 77, 78]) - 32) / 1.8
        factors = 1 / emission_factor(celsius, np.full(7, 50.0))
        np.testing.assert_allclose(factors, [1.36, 1.28, 1.20, 1.13, 1.06, 1.00, 0.94], atol=0.005)


class TestUnitsOfTheDemo:
    """U-07 (ideal gas law), U-08 (NIOSH Pocket Guide, from memory), U-12 (ISO 2533 pressure at 1500 m)."""

    @pytest.mark.parametrize(("temperature_c", "factor"), [(0.0, 1.3396), (20.0, 1.2482), (25.0, 1.2273)])
    def test_mass_per_ppm(self, temperature_c: float, factor: float) -> None:
        assert to_mg_m3(np.ones(1), temperature_c)[0] == pytest.approx(factor, abs=5e-4)

    def test_at_altitude(self) -> None:
        pressure = station_pressure(1500.0)
        assert pressure == pytest.approx(84556, abs=2)
        assert to_mg_m3(np.ones(1), 20.0, pressure)[0] == pytest.approx(1.0416, abs=5e-4)

    def test_there_and_back(self) -> None:
        ppm = to_ppm(np.array([100.0]), np.array([23.0]), 96_000.0)
        assert to_mg_m3(ppm, 23.0, 96_000.0)[0] == pytest.approx(0.1, rel=1e-12)


class TestInstrumentOfTheDemo:
    def test_t90_is_ninety_per_cent(self) -> None:
        """The definition of T90: nine tenths of a step after that time."""
        step = np.concatenate((np.zeros(1), np.ones(60)))
        shown = respond(step, 80.0, 10.0)
        assert shown[0] == 0.0
        assert shown[8] == pytest.approx(0.9, abs=1e-9)

    def test_noise_has_the_spread_and_memory_asked_for(self) -> None:
        drawn = noise(np.random.default_rng(5), 40_000, 2.0, 0.6)
        assert drawn.std() == pytest.approx(2.0, rel=0.03)
        assert np.corrcoef(drawn[1:], drawn[:-1])[0, 1] == pytest.approx(0.6, abs=0.02)

    def test_quantised_values_are_multiples_within_half_a_step(self) -> None:
        values = np.linspace(-0.05, 0.6, 997)
        rounded = quantise(values, 0.01)
        assert np.abs(rounded - values).max() <= 0.005 + 1e-9
        np.testing.assert_allclose(rounded * 100, np.round(rounded * 100), atol=1e-9)


class TestHouse:
    def test_office_air_falls_by_its_own_air_change_after_work(self) -> None:
        """The decay that a consultant would fit (V-03) gives back the air change the room was built with."""
        house = build(SCENARIO.site, SEED)
        hours = local_hours(house.utc_ms, SCENARIO.site.time_zone)
        evening = np.flatnonzero((hours >= 17.1) & (hours < 18.9))[:100]
        over = house.co2_ppm["1.04"][evening] - house.co2_ppm["out"][evening]
        fitted = -np.polyfit((house.utc_ms[evening] - house.utc_ms[evening[0]]) / 3.6e6, np.log(over), 1)[0]
        assert fitted == pytest.approx(0.50, rel=0.25)  # 0.50 /h by day, wandering with doors and wind
        assert over[0] > 700

    def test_plant_off_means_more_formaldehyde(self) -> None:
        house = build(SCENARIO.site, SEED)
        hours = local_hours(house.utc_ms, SCENARIO.site.time_zone)
        late_night, afternoon = (hours >= 4) & (hours < 6), (hours >= 14) & (hours < 16)
        for code in ("0.01", "1.01", "2.08", "3.02"):
            assert house.ppm[code][late_night].mean() > 1.15 * house.ppm[code][afternoon].mean()

    def test_every_place_is_solved_and_sound(self) -> None:
        house = build(SCENARIO.site, SEED)
        assert set(house.ppm) == {*SCENARIO.site.rooms(), CABINET, "out"}
        for place, series in house.ppm.items():
            assert np.isfinite(series).all()
            assert series.min() >= house.ppm["out"].min() * 0.99, place
        for place, humidity in house.humidity.items():
            assert humidity.min() > 20, place
            assert humidity.max() < 95, place

    def test_rooms_of_a_zone_differ(self) -> None:
        house = build(SCENARIO.site, SEED)
        means = [house.ppm[f"2.0{n}"].mean() for n in range(1, 7)]
        assert len({round(mean, 6) for mean in means}) == 6
