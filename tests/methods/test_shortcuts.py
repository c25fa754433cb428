"""From a log file to a verdict in a few lines: each step held against the same done by hand."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from pathlib import Path

import numpy as np
import pytest

from methods.clock import Basis, ClockModel, NotedCheck
from methods.correction import CalibrationLine, Chain, ChannelFacts, Check
from methods.limits.loader import load
from methods.logs import Unreadable
from methods.quantities.units import NotConvertible, Reference
from methods.shortcuts import read_log, worst_mean
from methods.verdicts import ChannelAbilities, Verdict

LIMIT = load()["HCHO-WHO10-30M"]
METER = ChannelAbilities(
    resolution=0.001, zero_u=0.002, span_u_rel=0.03, drift_u=0.0, temperature_u=0.0, interference_u=0.0
)
EIGHT = 1_772_611_200_000  # 2026-03-04 08:00:00
MINUTE = 60_000
#: mg/m³ per ppm of formaldehyde at 25 °C and 101.325 kPa (check value U-07).
FACTOR = 1.2273


def a_log(folder: Path, values: list[str], heading: str = "time,HCHO (ppm)") -> Path:
    """A value a minute from 08:00."""
    path = folder / "log.csv"
    rows = [f"2026-03-04 {8 + k // 60:02d}:{k % 60:02d}:00,{value}" for k, value in enumerate(values)]
    path.write_text("\n".join([heading, *rows]) + "\n", encoding="utf-8")
    return path


def test_a_log_is_read_whole(tmp_path: Path) -> None:
    log = read_log(a_log(tmp_path, ["0.05"] * 10 + ["<0.01", "x"] + ["0.05"] * 10))
    assert log.stamps_ms.tolist() == [EIGHT + k * MINUTE for k in range(22)]
    assert log.values[:11, 0].tolist() == [0.05] * 10 + [0.01]
    assert log.flags[10, 0] == 1
    assert [problem.line for problem in log.problems] == [13]


def test_a_series_is_in_the_unit_asked_for(tmp_path: Path) -> None:
    series = read_log(a_log(tmp_path, ["0.050"] * 40)).series("formaldehyde", "mg/m³")
    assert series.value == pytest.approx(np.full(40, 0.05 * FACTOR), abs=0.0005 * 0.05)
    assert (series.start_ms, series.end_ms) == (EIGHT - MINUTE // 2, EIGHT + 39 * MINUTE + MINUTE // 2)
    cool = read_log(tmp_path / "log.csv").series("formaldehyde", "mg/m³", reference=Reference(20.0))
    assert cool.value[0] / series.value[0] == pytest.approx(298.15 / 293.15)


def test_a_series_without_a_unit_is_in_the_files_own(tmp_path: Path) -> None:
    assert read_log(a_log(tmp_path, ["0.050"] * 3)).series("formaldehyde").value.tolist() == [0.05] * 3


def test_clock_and_chain_are_those_given(tmp_path: Path) -> None:
    """((0.100 − 0.010) / 1) · 0.9 = 0.081; the clock is ten minutes slow, on +01:00."""
    nine = EIGHT + 60 * MINUTE
    clock = ClockModel(Basis.fixed(60), (NotedCheck(true_utc_ms=EIGHT, shown_ms=nine - 10 * MINUTE),))
    chain = Chain(checks=(Check(EIGHT, "zero", 0.0, 0.010),), calibrations=(CalibrationLine(0, slope=0.9),))
    series = read_log(a_log(tmp_path, ["0.100"] * 40)).series("formaldehyde", clock=clock, chain=chain)
    assert series.utc_ms[0] == EIGHT - 50 * MINUTE
    assert series.value == pytest.approx(np.full(40, 0.081))


def test_a_value_under_the_detection_limit_counts_as_the_limit(tmp_path: Path) -> None:
    chain = Chain(ChannelFacts(detection_limit=0.02, warm_up_s=0))
    series = read_log(a_log(tmp_path, ["0.005"] * 40)).series("formaldehyde", chain=chain)
    assert series.value.tolist() == [0.02] * 40
    worst = worst_mean(series, LIMIT, METER)
    assert (worst.estimate.lower, worst.estimate.upper) == (0.0, 0.02)


def test_the_worst_mean_and_its_uncertainty(tmp_path: Path) -> None:
    """A meter without noise of its own: u² = 0.002² + (0.03 · x)² + 0.001²/12, and p = Φ((x − 0.1)/u at the limit)."""
    series = read_log(a_log(tmp_path, ["0.040"] * 20 + ["0.060"] * 40)).series("formaldehyde", "mg/m³")
    worst = worst_mean(series, LIMIT, replace(METER, noise=0.0))
    x = 0.06 * FACTOR
    assert worst.window.mean == pytest.approx(x, abs=0.0005 * 0.06)
    assert worst.window.minutes == 30
    resolution = 0.001**2 / 12 * (1 + 1 / 30)  # of the display, and as the least noise there is
    assert worst.estimate.budget.combined == pytest.approx(sqrt(0.002**2 + (0.03 * x) ** 2 + resolution), rel=1e-3)
    assert worst.judgement.verdict is Verdict.BELOW
    assert str(worst) == "0.0736 ± 0.0059 mg/m³, 4 Mar 2026 08:19–08:49 UTC: below limit (≤ 0.1 mg/m³)"


def test_what_the_readings_cannot_answer_is_said(tmp_path: Path) -> None:
    log = read_log(a_log(tmp_path, ["0.040"] * 20))
    with pytest.raises(ValueError, match="shorter than the 30 min"):
        worst_mean(log.series("formaldehyde", "mg/m³"), LIMIT, METER)
    with pytest.raises(KeyError, match="co2"):
        log.series("co2")
    with pytest.raises(NotConvertible):
        log.series("formaldehyde", "%RH")
    ceiling = next(limit for limit in load().values() if limit.averaging_minutes is None)
    with pytest.raises(ValueError, match="no averaging time"):
        worst_mean(log.series("formaldehyde", "mg/m³"), ceiling, METER)


def test_facts_reach_the_comparison(tmp_path: Path) -> None:
    series = read_log(a_log(tmp_path, ["0.040"] * 40)).series("formaldehyde", "mg/m³")
    worst = worst_mean(series, LIMIT, METER, outdoors=True)
    assert worst.judgement.verdict is Verdict.NOT_COMPARABLE


def test_a_file_that_is_no_log_and_one_that_asks(tmp_path: Path) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("Dear neighbour,\nthe window is open.\n", encoding="utf-8")
    with pytest.raises(Unreadable):
        read_log(path)
    with pytest.raises(Unreadable):
        read_log(a_log(tmp_path, ["0.05"] * 30, heading="time,reading"))


def test_one_reading_shows_no_interval(tmp_path: Path) -> None:
    log = read_log(a_log(tmp_path, ["0.05", "0.05", "0.05"]))
    one = type(log)(log.layout, log.stamps_ms[:1], log.values[:1], log.flags[:1], ())
    with pytest.raises(ValueError, match="too few readings"):
        one.series("formaldehyde")
