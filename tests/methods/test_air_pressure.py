"""What air pressure does to what a sensor shows: the gas law, the ISO 2533 atmosphere, and the chain."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.correction import CalibrationLine, Chain, ChannelFacts, Check, correct, explain_reading
from methods.quantities.flags import Flag
from methods.quantities.pressure import AnswersTo, StationPressure, number_density_factor
from methods.quantities.units import standard_pressure_kpa

FACTS = ChannelFacts(warm_up_s=0, needs=frozenset())
HIGH_UP = StationPressure.of(None, 1500.0)
THIN = {"factor": HIGH_UP.factor, "factor_said": HIGH_UP.corrected}


def test_1500_m() -> None:
    """84.556 kPa, × 1.1983, 1000 ppm shown are 1198 (ISO 2533, from memory; gas law: sensor textbooks, from memory)."""
    assert standard_pressure_kpa(1500) == pytest.approx(84.556, abs=0.001)
    assert HIGH_UP.factor == pytest.approx(1.1983, abs=0.0001)
    assert correct([0], [1000.0], Chain(FACTS, **THIN)).value[0] == pytest.approx(1198.3, abs=0.1)  # type: ignore[arg-type]


def test_the_gas_law_with_its_temperature() -> None:
    """C = shown · (p_cal/p) · (T/T_cal): 20 °C where it was calibrated at 0 °C is 293.15/273.15 more."""
    factor = number_density_factor(101.325, temperature_c=20.0, calibrated_c=0.0)
    assert factor == pytest.approx(293.15 / 273.15)
    with pytest.raises(ValueError, match="above zero"):
        number_density_factor(0.0)


@given(altitude=st.floats(-400, 6000))
def test_thinner_air_the_higher(altitude: float) -> None:
    pressure = StationPressure.of(None, altitude)
    assert pressure.is_thin == (altitude > 300) or altitude == pytest.approx(300)
    assert (pressure.factor > 1) == (altitude > 0) or altitude == pytest.approx(0, abs=1e-6)
    assert "ISO 2533" in pressure.words
    assert StationPressure.of(95.0, altitude) == StationPressure(95.0)


@given(zero=st.floats(-5, 5), span=st.floats(0.5, 1.5), factor=st.floats(0.8, 2.0))
def test_a_span_check_in_the_same_air_leaves_nothing_to_correct(zero: float, span: float, factor: float) -> None:
    """What a check at the site has corrected already is not corrected twice."""
    truth = np.array([400.0, 1000.0, 2000.0])
    shown = truth * span + zero

    def checks(times: float) -> tuple[Check, ...]:
        return Check(0, "zero", 0.0, zero * times), Check(0, "span", 1000.0, (1000.0 * span + zero) * times)

    line = (CalibrationLine(-1),)
    plain = correct([0, 1, 2], shown, Chain(FACTS, checks(1.0), line)).value
    thin = correct([0, 1, 2], shown, Chain(FACTS, checks(factor), line, factor=factor)).value
    np.testing.assert_allclose(plain, truth, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(thin, truth, rtol=1e-9, atol=1e-9)


def test_the_chain_tells_the_step() -> None:
    corrected = correct([0], [1000.0], Chain(FACTS, **THIN))  # type: ignore[arg-type]
    steps = {step.name: step for step in explain_reading(corrected, 0)}
    assert list(steps)[:3] == ["stored", "air pressure", "zero"]
    assert steps["air pressure"].output == pytest.approx(1198.3, abs=0.1)
    assert steps["air pressure"].note == (
        "corrected to the air pressure at the site, times 1.198 (84.556 kPa, taken from the altitude of 1500 m by the "
        "ISO 2533 atmosphere)"
    )
    assert corrected.raw.tolist() == [1000.0]
    assert "air pressure" not in [step.name for step in explain_reading(correct([0], [1.0], Chain(FACTS)), 0)]


def test_detection_limit_and_range_are_those_of_what_is_shown() -> None:
    facts = ChannelFacts(warm_up_s=0, needs=frozenset(), detection_limit=10.0, range_high=100.0)
    flags = correct([0, 1, 2, 3], [9.0, 10.0, 99.0, 100.0], Chain(facts, factor=1.2)).flags
    assert [bool(flag & Flag.BELOW_DETECTION) for flag in flags] == [True, False, False, False]
    assert [bool(flag & Flag.OVER_RANGE) for flag in flags] == [False, False, False, True]


def test_every_answer_has_words() -> None:
    assert len({answer.label for answer in AnswersTo}) == 3
    assert StationPressure(84.6).words == "84.6 kPa, as entered for the campaign"
    assert "1.198 times this one" in HIGH_UP.unsaid
