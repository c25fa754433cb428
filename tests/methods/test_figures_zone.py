"""The figures of the zone page: every dict is one that plotly and our scripts understand, and hides nothing."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from methods.comparison.distribution import PlaceSample
from methods.figures import Cloud, Layer, LimitLine, PointStrip, scatter, spread, stack, strips, time_series
from methods.figures.axes import DeploymentBar, limit_labels, upright_label
from methods.figures.decimate import rounded
from methods.figures.limits import LimitMark, limit_axis
from methods.figures.scatter import MOST_MARKS, drawn_count
from methods.figures.series import Worst, share_of
from methods.figures.text import short
from methods.quantities.durations import MINUTE_MS
from tests.methods.test_figures import START, check, course, stay

LIMIT = LimitLine(0.1, "≤ 0.1 mg/m³ 30-minute mean, somebody")


def sample(label: str = "Office, centre", *, below: int = 0) -> PlaceSample:
    value = np.linspace(0.02, 0.2, 100)
    hidden = np.arange(100) < below
    return PlaceSample(label, np.where(hidden, value[max(below - 1, 0)], value), hidden)


def test_readings_below_detection_and_over_range_have_arrows() -> None:
    n = 60
    below, over = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    below[10:20], over[30:33] = True, True
    figure = time_series([course(below=below, over=over)], [stay()], unit="mg/m³")
    check(figure)
    marks = {trace["name"]: trace for trace in figure["data"] if trace.get("mode") == "markers"}
    assert len(marks["below the detection limit"]["x"]) == 10
    assert marks["below the detection limit"]["hovertemplate"].startswith("< ")
    assert len(marks["over range"]["x"]) == 3
    assert marks["below the detection limit"]["marker"]["symbol"] != marks["over range"]["marker"]["symbol"]


def test_a_line_thinned_before_breaks_where_it_is_told_to() -> None:
    """A break before a reading that does not count is carried on to the next one that does."""
    broken = np.zeros(60, dtype=bool)
    broken[3], broken[30] = True, True
    counts = np.ones(60, dtype=bool)
    counts[3] = False
    figure = time_series([course(counts=counts, why_not=[""] * 60, broken=broken)], [stay()], unit="ppm")
    line = figure["data"][0]
    assert [n for n, y in enumerate(line["y"]) if y is None] == [3, 30]
    assert line["x"][4] == START + 4 * MINUTE_MS


def test_a_part_of_the_axis_keeps_what_is_left_out_and_gets_ticks_of_its_own() -> None:
    later = START + 24 * 60 * MINUTE_MS
    stays = [stay(), stay("Store, centre", at=later)]
    whole = time_series([course()], stays, unit="ppm")
    part = time_series([course()], stays, unit="ppm", span=(START, START + 30 * MINUTE_MS))
    check(part)
    assert part["layout"]["xaxis"]["range"] == ["2026-09-14 09:00:00.000", "2026-09-14 09:30:00.000"]
    assert part["layout"]["xaxis"]["rangebreaks"] == whole["layout"]["xaxis"]["rangebreaks"]
    assert "tickvals" in whole["layout"]["xaxis"]
    assert "tickvals" not in part["layout"]["xaxis"]  # inside one stretch the library's own are better


def test_a_distribution_has_histogram_and_cumulative_share_of_each_point() -> None:
    figure = spread([sample(), sample("Store, centre")], unit="mg/m³", limits=[LIMIT], governs="Store, centre")
    check(figure)
    upper = [t for t in figure["data"] if t.get("yaxis") == "y2"]
    assert [t["name"] for t in upper] == ["Office, centre", "Store, centre"]
    looks = [(trace["line"]["dash"], trace["line"]["width"]) for trace in upper]
    assert looks[0] != looks[1]  # told apart without colour
    rising = [t for t in figure["data"] if t["mode"] == "lines" and "yaxis" not in t]
    assert all(t["y"][-1] == 100 for t in rising)
    (limit,) = figure["layout"]["shapes"]
    assert limit["x0"] == 0.1
    median = next(t for t in figure["data"] if t["mode"] == "markers")
    assert median["text"][0].startswith("median: 0.110")
    assert len(set(median["marker"]["symbol"])) == 2


def test_readings_below_detection_are_one_block_and_no_zeros() -> None:
    figure = spread([sample(below=40)], unit="mg/m³")
    check(figure)
    block = next(t for t in figure["data"] if t["name"] == "below detection")
    assert max(block["y"]) == pytest.approx(40, abs=1)
    assert any(text.startswith("< 0.0") for text in block["text"])
    bins = next(t for t in figure["data"] if t["name"] == "Office, centre" and t.get("yaxis") == "y2")
    assert min(bins["x"]) >= 0.08  # nothing is drawn where nobody knows


def test_a_logarithmic_axis_is_one() -> None:
    figure = spread([sample(below=40)], unit="mg/m³", limits=[LIMIT], is_log=True)
    check(figure)
    assert figure["layout"]["xaxis"]["type"] == "log"
    assert figure["layout"]["annotations"][0]["x"] == pytest.approx(-1.0)  # plotly takes the logarithm here


def test_points_side_by_side_tell_room_air_from_enclosed_spaces_without_colour() -> None:
    figure = strips([PointStrip(sample(), True), PointStrip(sample("Cabinet"), False)], unit="ppm", limits=[LIMIT])
    check(figure)
    marks = [t["marker"]["symbol"] for t in figure["data"] if t["mode"] == "markers"]
    assert marks == ["diamond", "square-open"]
    assert figure["layout"]["yaxis"]["categoryarray"] == ["Cabinet", "Office, centre"]
    ends = [t["x"] for t in figure["data"] if t["mode"] == "lines"][:3]
    assert ends[0] == [0.02, 0.2]
    assert ends[0][0] < ends[1][0] < ends[2][0] < ends[2][1] < ends[1][1] < ends[0][1]


def test_a_cloud_is_thinned_evenly() -> None:
    n = 10_000
    cloud = Cloud("Office", np.arange(n, dtype=np.float64), np.linspace(0, 1, n), ["2026-09-14 09:00"] * n)
    figure = scatter([cloud], "Temperature, °C", "Formaldehyde, mg/m³", y_limit=0.5)
    check(figure)
    drawn = figure["data"][0]["x"]
    assert len(drawn) == drawn_count(n) <= MOST_MARKS
    assert np.ptp(np.diff(drawn)) == 0
    assert drawn_count(10) == 10
    assert figure["layout"]["shapes"]


def test_layers_share_the_axis_of_time_and_do_not_overlap() -> None:
    layers = [
        Layer("Formaldehyde", "mg/m³", [course(governs=True)], limits=[LIMIT]),
        Layer("Temperature", "°C", [course(value=20 + np.zeros(60))], from_zero=False),
        Layer("Relative humidity", "%RH", []),
    ]
    figure = stack(layers, [stay(governs=True)])
    check(figure)
    axes = [part for name, part in figure["layout"].items() if name.startswith("yaxis")]
    domains = sorted(axis["domain"] for axis in axes)
    assert all(low[1] < high[0] for low, high in pairwise(domains))
    assert {t.get("yaxis") for t in figure["data"]} == {"y", "y2", "y4"}
    assert figure["layout"]["shapes"][-1]["yref"] == "y"


def test_a_long_name_keeps_both_ends() -> None:
    text = "0.06 Kitchen, tall cabinet left of the sink (enclosed space)"
    assert len(short(text)) <= 36
    assert short(text).startswith("0.06 Kitchen")
    assert short(text).endswith("(enclosed space)")
    assert short("Office, centre") == "Office, centre"


@given(arrays(np.float64, st.integers(1, 50), elements=st.floats(-1e6, 1e6, allow_nan=False)))
def test_rounding_for_a_drawing_is_that_of_four_digits(values: np.ndarray) -> None:
    shown = rounded(values)
    assert shown == pytest.approx([float(f"{value:.4g}") for value in values], rel=1.1e-3, abs=1e-12)
    assert rounded(np.array([0.123456, 12345.6, -0.0004567, 0.0])) == [0.1235, 12350.0, -0.0004567, 0.0]


def test_short_lines_are_whole_and_leave_the_rest_to_long_ones() -> None:
    assert share_of([35, 40, 5000], 1000) == 925
    assert share_of([500, 500], 600) == 300
    assert share_of([10, 20], 600) == 600
    assert share_of([], 600) == 600


@pytest.mark.parametrize("above", [True, False])
def test_what_people_call_a_limit_is_drawn_letter_by_letter(above: bool) -> None:
    """Limits of one's own name body and statistic as they like; the library takes tags in annotations for markup."""
    hostile = '<a href="https://fanlight.example">click</a> & <b>%{x}'
    at = 9e9 if above else 0.01
    lines = [LimitLine(at, hostile)]
    assert limit_labels(lines, 1.0)
    drawn = [*limit_labels(lines, 1.0), upright_label(lines[0])]
    marks = limit_axis([LimitMark(0.1, hostile, hostile, True, hostile)], [hostile], "ppm")
    worst = time_series([], [DeploymentBar("P1", 0, 60_000, "A")], unit="ppm", worst=[Worst(0, 60_000, 0.1, hostile)])
    for figure in (drawn, marks, worst):
        told = str(figure)
        assert "&lt;a href" in told
        assert "<a" not in told
        assert "<b>" not in told
