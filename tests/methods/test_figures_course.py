"""The drawing of a frozen course: what of it becomes a line, a mark or only words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET  # our own drawing

import pytest

from methods.figures.course import HEIGHT, NARROWEST, TOP, WIDTH, course_svg, drawn_limits, panels_of, scale_of

HOUR = 3600


@dataclass(frozen=True)
class SampleStay:
    """Two hours from 08:00 of 15 September 2026, one reading every half hour."""

    where: str = "Office, centre"
    start: int = 1_789_459_200
    length: int = 2 * HOUR
    t: Sequence[int] = (0, 1800, 3600, 5400)
    v: Sequence[float] = (0.02, 0.04, 0.03, 0.05)
    below: Sequence[int] = ()
    over: Sequence[int] = ()
    breaks: Sequence[int] = ()


@dataclass(frozen=True)
class SampleLimit:
    ref: str
    at: float
    label: str


@dataclass(frozen=True)
class SampleResult:
    begin: int
    end: int
    at: float
    text: str


@dataclass(frozen=True)
class SampleCourse:
    stays: Sequence[SampleStay] = (SampleStay(),)
    limits: Sequence[SampleLimit] = (SampleLimit("C1", 0.1, "≤ 0.1 mg/m³, 30-minute mean"),)
    result: SampleResult | None = None
    unit: str = "mg/m³"


stay = SampleStay


def course(*stays: SampleStay, **more: Any) -> SampleCourse:
    return SampleCourse(stays or (stay(),), **more)


def drawn(one: SampleCourse, **how: Any) -> ET.Element:
    svg = course_svg(one, title=how.get("title", "said"), from_zero=how.get("from_zero", True))
    return ET.fromstring(svg)


def of(root: ET.Element, kind: str) -> list[ET.Element]:
    return [one for one in root.iter() if one.get("class") == kind]


def test_it_is_well_formed_and_as_wide_as_it_says() -> None:
    root = drawn(course(), title='A "title" <with> signs & more')
    assert root.get("aria-label") == 'A "title" <with> signs & more'
    assert root.get("viewBox", "").split()[2] == root.get("width") == str(WIDTH)


def test_values_lie_where_the_scale_has_them() -> None:
    scale = scale_of(course(), from_zero=True)
    assert (scale.low, scale.y(scale.low), scale.y(scale.high)) == (0.0, TOP + HEIGHT, TOP)
    (line,) = of(drawn(course()), "course-line")
    ys = [float(pair.split()[1]) for pair in re.split("[ML]", line.get("d", ""))[1:]]
    assert ys == pytest.approx([scale.y(v) for v in stay().v], abs=0.06)


def test_a_gap_breaks_the_line_and_a_lone_reading_is_a_dot() -> None:
    (line,) = of(drawn(course(stay(breaks=[2]))), "course-line")
    assert line.get("d", "").count("M") == 2
    root = drawn(course(stay(breaks=[1])))
    assert len(of(root, "course-dot")) == 1
    assert of(root, "course-line")[0].get("d", "").count("L") == 2


def test_arrows_down_and_up_that_would_touch_are_drawn_once() -> None:
    down, up = of(drawn(course(stay(below=[0], over=[3]))), "course-mark")
    assert "v9" in down.get("d", "")
    assert "v-9" in up.get("d", "")
    close = stay(t=[0, 30, 60, 5400], below=[0, 1, 2, 3])
    (mark,) = of(drawn(course(close)), "course-mark")
    assert mark.get("d", "").count("M") == 2


def test_a_limit_is_drawn_and_named_unless_it_is_far_above() -> None:
    assert [one.text for one in of(drawn(course()), "course-name")] == ["≤ 0.1 mg/m³, 30-minute mean"]
    far = course(limits=[SampleLimit("C1", 0.21, "far")])
    assert drawn_limits(far) == []
    assert not of(drawn(far), "course-limit")
    assert scale_of(far, from_zero=True).high < 0.1


def test_names_of_limits_that_lie_together_do_not_touch() -> None:
    near = [SampleLimit(f"C{n}", at, f"limit {n}") for n, at in enumerate((0.1, 0.102, 0.104))]
    ys = [float(one.get("y", "")) for one in of(drawn(course(limits=near)), "course-name")]
    assert all(above <= below - 13 for below, above in pairwise(ys))


def test_a_short_visit_beside_a_long_stay_can_be_read() -> None:
    long, visit = panels_of([stay(length=200 * HOUR), stay(length=HOUR)])
    assert visit.width == NARROWEST
    assert long.left + long.width < visit.left


def test_the_result_is_drawn_only_where_its_window_lies() -> None:
    start = stay().start
    later = stay(start=start + 50 * HOUR)
    result = SampleResult(start + HOUR, start + 2 * HOUR, 0.04, "0.040 mg/m³")
    (bar,) = of(drawn(course(stay(), later, result=result)), "course-result")
    first = panels_of([stay(), later])[0]
    assert bar.get("d", "").startswith(f"M{first.left + first.width / 2:.1f} ")


def test_temperature_does_not_start_at_nought() -> None:
    warm = course(stay(v=[20.9, 21.0, 21.4, 22.1]), limits=[])
    assert scale_of(warm, from_zero=False).low >= 20
    assert scale_of(course(stay(v=[0.0] * 4), limits=[]), from_zero=True).high > 0


def test_hours_and_days_are_those_of_the_wall() -> None:
    said = [one.text for one in drawn(course()).iter("text")]
    assert "08:30" in said
    assert "15 Sep 08:00–10:00" in said
    over_night = [one.text for one in drawn(course(stay(length=20 * HOUR))).iter("text")]
    assert "to 16 Sep 04:00" in over_night
