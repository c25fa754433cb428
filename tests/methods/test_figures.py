"""Figures: nothing that matters is lost in drawing, and every dict is one that plotly and our scripts understand."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from methods.figures import (
    MOST_POINTS,
    Course,
    DeploymentBar,
    LimitLine,
    LimitMark,
    Worst,
    budget_bars,
    extremes,
    limit_axis,
    spans,
    time_series,
)
from methods.figures.decimate import cuts, parted
from methods.quantities.arrays import Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import stamp_ms
from methods.uncertainty.budget import BudgetRow

START = stamp_ms(datetime(2026, 9, 14, 9, 0))  # noqa: DTZ001 - wall-clock time of the site
COLOUR_ROLES_JS = Path(__file__).parents[2] / "static" / "js" / "charts" / "colour-roles.js"
finite = st.floats(-1e6, 1e6, allow_nan=False)


# --- decimation -------------------------------------------------------------------------------------------------------


@given(arrays(np.float64, st.integers(1, 400), elements=finite), st.integers(4, 60))
def test_extremes_and_both_ends_survive(values: np.ndarray, most: int) -> None:
    kept = extremes(values, most)
    assert len(kept) <= max(most, 4)
    assert np.all(np.diff(kept) > 0)
    assert values[kept].max() == values.max()
    assert values[kept].min() == values.min()
    assert (kept[0], kept[-1]) == (0, len(values) - 1)


@given(st.integers(0, 99_999), st.integers(0, 99_999))
@settings(max_examples=30)
def test_one_spike_and_one_dip_anywhere_survive(spike: int, dip: int) -> None:
    values = np.sin(np.arange(100_000) / 500)
    values[dip], values[spike] = -5.0, 5.0
    kept = extremes(values)
    assert len(kept) <= MOST_POINTS
    assert spike in kept
    assert dip in kept or dip == spike


def test_each_run_keeps_its_own_extremes() -> None:
    """Against a plain loop over the runs."""
    values = np.random.default_rng(4).normal(size=1000)
    kept = set(extremes(values, 42).tolist())
    for run in np.array_split(np.arange(1000), 20):
        assert int(run[values[run].argmax()]) in kept
        assert int(run[values[run].argmin()]) in kept


def test_few_values_are_all_kept_and_missing_ones_are_no_extremes() -> None:
    assert extremes(np.array([1.0, np.nan, 3.0]), 10).tolist() == [0, 1, 2]
    values = np.where(np.arange(100) % 2, np.nan, np.arange(100.0))
    kept = extremes(values, 10)
    assert np.isfinite(values[kept]).all()
    assert values[kept].max() == 98.0
    with pytest.raises(ValueError, match="four points"):
        extremes(values, 3)


def test_a_line_breaks_where_nothing_was_logged_and_only_there() -> None:
    def broken_line(times: Ints, kept: Ints) -> list[int | None]:
        return parted(kept.tolist(), cuts(times, kept, 2 * MINUTE_MS))

    times = np.array([0, 1, 2, 3, 10, 11, 12], dtype=np.int64) * MINUTE_MS
    assert broken_line(times, np.arange(7)) == [0, 1, 2, 3, None, 4, 5, 6]
    # decimation puts points far apart: that is no gap
    assert broken_line(times, np.array([0, 3, 6])) == [0, 3, None, 6]
    assert broken_line(times, np.array([], dtype=np.int64)) == []


# --- the building in section ------------------------------------------------------------------------------------------


@given(st.lists(st.one_of(st.none(), st.floats(0.5, 5000)), min_size=1, max_size=40))
def test_zones_fill_whole_rows_and_none_is_too_narrow(areas: list[float | None]) -> None:
    widths = spans(areas)
    assert len(widths) == len(areas)
    assert min(widths) >= 3
    row = 0
    for width in widths:
        row += width
        assert row <= 24
        row %= 24
    assert row == 0


def test_widths_follow_areas() -> None:
    assert spans([100.0, 100.0]) == [12, 12]
    assert spans([300.0, 100.0]) == [18, 6]
    assert spans([1000.0, 1.0]) == [21, 3]
    assert spans([50.0, None, 50.0]) == [8, 8, 8]
    assert spans([]) == []


# --- what plotly and our scripts understand ---------------------------------------------------------------------------


def roles_of_the_script() -> set[str]:
    """The colour roles, read from the script that knows them."""
    text = COLOUR_ROLES_JS.read_text(encoding="utf-8")
    mapped = re.search(r"Object\.entries\(\{(.*?)\}\)", text, re.S)
    plain = re.search(r"for \(const name of \[(.*?)\]\)", text)
    assert mapped
    assert plain
    names = re.findall(r'"?([\w-]+)"?:', mapped[1]) + re.findall(r'"([\w-]+)"', plain[1])
    return {*names, *(f"f{step}" for step in range(11))}


def recoloured(value: Any, roles: set[str], is_colour: bool = False) -> Any:
    """The figure as colour-roles.js would hand it to plotly; fails for a colour that is no role."""
    if isinstance(value, str):
        if is_colour:
            assert value.partition("/")[0] in roles, f"{value} is no role"
        return "#123456" if is_colour else value
    if isinstance(value, list):
        return [recoloured(item, roles, is_colour) for item in value]
    if isinstance(value, dict):
        return {key: recoloured(item, roles, key.lower().endswith("color")) for key, item in value.items()}
    return value


def check(figure: dict[str, Any]) -> None:
    """Plain JSON, only known roles, and no property that plotly's own schema does not know."""
    assert json.loads(json.dumps(figure)) == figure
    go.Figure(recoloured(figure, roles_of_the_script()))


def course(label: str = "Office, centre", *, n: int = 60, at: int = START, **more: Any) -> Course:
    counts = np.ones(n, dtype=bool)
    counts[:5] = False
    value = 0.1 + 0.01 * np.sin(np.arange(n))
    why = ["settling after a move or switching on"] * 5 + [""] * (n - 5)
    fields: dict[str, Any] = {"value": value, "counts": counts, "why_not": why} | more
    return Course(label, "meter A", at + MINUTE_MS * np.arange(n, dtype=np.int64), gap_ms=2 * MINUTE_MS, **fields)


def stay(label: str = "Office, centre", *, at: int = START, minutes: int = 60, **more: Any) -> DeploymentBar:
    return DeploymentBar(label, at, at + minutes * MINUTE_MS, "meter A", **more)


def test_a_series_shows_readings_limit_worst_window_and_what_does_not_count() -> None:
    figure = time_series(
        [course(governs=True)],
        [stay(governs=True)],
        unit="mg/m³",
        limits=[LimitLine(0.1, "≤ 0.1 mg/m³, somebody")],
        worst=[Worst(START + 20 * MINUTE_MS, START + 50 * MINUTE_MS, 0.102, "worst 30-minute mean")],
    )
    check(figure)
    line, left_out, worst, bar = figure["data"]
    assert len(line["x"]) == 55
    assert line["x"][0] == START + 5 * MINUTE_MS
    assert line["line"]["color"] == "series-1"
    assert len(left_out["x"]) == 5
    assert "settling after a move or switching on" in left_out["text"][0]
    assert left_out["marker"]["color"].startswith("faint/")
    assert (worst["x"], worst["y"]) == (["2026-09-14 09:20:00.000", "2026-09-14 09:50:00.000"], [0.102, 0.102])
    assert bar["y"][:2] == ["Office, centre"] * 2
    dashed = [shape for shape in figure["layout"]["shapes"] if shape["type"] == "line"]
    assert [shape["y0"] for shape in dashed] == [0.1]
    assert any("somebody" in note["text"] for note in figure["layout"]["annotations"])


def test_a_limit_far_above_is_named_instead_of_drawn() -> None:
    figure = time_series([course()], [stay()], unit="ppm", limits=[LimitLine(2.0, "2 ppm, somebody")])
    check(figure)
    assert figure["layout"]["yaxis"]["range"][1] < 0.2
    assert not [shape for shape in figure["layout"]["shapes"] if shape["type"] == "line"]
    assert [note["text"] for note in figure["layout"]["annotations"]] == ["↑ above this drawing: 2 ppm, somebody"]


def test_nights_without_a_deployment_are_left_out_of_the_axis() -> None:
    later = START + 24 * 60 * MINUTE_MS
    figure = time_series(
        [course(), course("Store, centre", at=later)], [stay(), stay("Store, centre", at=later)], unit="ppm"
    )
    check(figure)
    (gap,) = figure["layout"]["xaxis"]["rangebreaks"]
    assert gap["bounds"] == ["2026-09-14 10:04:00.000", "2026-09-15 08:56:00.000"]
    assert figure["layout"]["xaxis"]["ticktext"] == ["09:00<br>14 Sep", "09:00<br>15 Sep"]
    assert figure["layout"]["yaxis2"]["categoryarray"] == ["Store, centre", "Office, centre"]


def test_long_courses_are_thinned_and_keep_their_peak() -> None:
    n = 50_000
    value = np.full(n, 0.05)
    value[33_333] = 0.4
    big = course(n=n, value=value, counts=np.ones(n, dtype=bool), why_not=[""] * n)
    figure = time_series([big], [stay(minutes=n)], unit="ppm")
    assert len(figure["data"][0]["x"]) <= MOST_POINTS
    assert max(figure["data"][0]["y"]) == 0.4


def test_names_that_people_typed_are_not_markup() -> None:
    figure = time_series([course("<b>Lab</b> %{x}")], [stay("<b>Lab</b> %{x}")], unit="ppm")
    check(figure)
    assert "&lt;b&gt;Lab&lt;/b&gt; % {x}" in figure["data"][0]["hovertemplate"]
    assert "<b>" not in json.dumps(figure)


def test_a_series_without_a_reading_that_counts() -> None:
    figure = time_series([course(counts=np.zeros(60, dtype=bool), why_not=["warming up"] * 60)], [stay()], unit="ppm")
    check(figure)
    assert [trace["name"] for trace in figure["data"]] == ["does not count", "Office, centre"]


def test_budget_bars_name_what_nobody_knows() -> None:
    rows = [
        BudgetRow("span", 0.006, 0.9, shrinks=False, source="", missing=False),
        BudgetRow("zero", 0.002, 0.1, shrinks=False, source="", missing=False),
        BudgetRow("drift", None, None, shrinks=False, source="", missing=True),
    ]
    figure = budget_bars(rows, "mg/m³")
    check(figure)
    assert figure["data"][0]["text"] == ["90 %", "10 %", "not known"]
    assert figure["data"][0]["x"] == [0.006, 0.002, 0.0]


def test_limits_stand_at_their_number_on_the_line_of_their_time() -> None:
    marks = [
        LimitMark(100.0, "30 min", "≤ 100 µg/m³", in_force=True),
        LimitMark(100.0, "30 min", "≤ 0.1 mg/m³", in_force=True),
        LimitMark(19.6, "10 h", "≤ 0.016 ppm", in_force=True, placed="placed here by conversion at 25 °C"),
        LimitMark(120.0, "30 min", "≤ 120 µg/m³", in_force=False),
    ]
    figure = limit_axis(marks, ["30 min", "8 h", "10 h"], "µg/m³")
    check(figure)
    assert figure["layout"]["xaxis"]["type"] == "log"
    assert figure["layout"]["yaxis"]["ticktext"] == ["30 min", "10 h"]  # nothing is drawn for an empty line
    symbols = {trace["name"]: trace["marker"]["symbol"] for trace in figure["data"]}
    assert symbols == {"in force": "circle", "in force, placed by conversion": "diamond", "not in force": "circle-open"}
    own = next(trace for trace in figure["data"] if trace["name"] == "in force")
    assert own["x"] == [100.0, 100.0]
    assert own["y"][0] != own["y"][1]  # equal values stay apart
    assert "type" not in limit_axis(marks, ["30 min", "10 h"], "°C", is_log=False)["layout"]["xaxis"]
