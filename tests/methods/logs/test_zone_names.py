"""Which fixed zone a text names: the signs of the tz database, offsets behind a label, clocks that go forward."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.logs.stamps.zone_names import zone_in, zone_said_in

hours = st.integers(-12, 14)


@given(hours)
def test_signs_of_the_tz_database_are_the_other_way_round(hour: int) -> None:
    """From memory: POSIX counts west of Greenwich."""
    assert zone_in(f"Time (Etc/GMT{-hour:+d})") == hour * 60
    assert zone_in(f"Time (GMT{hour:+d})") == hour * 60


@given(
    hours, st.sampled_from(["UTC offset;{:+d}", "GMT offset: {:+03d}00", "UTC-Offset {:+03d}:00", "utc_offset={:+d}"])
)
def test_an_offset_behind_its_label(hour: int, line: str) -> None:
    assert zone_said_in(line.format(hour)) == hour * 60


@pytest.mark.parametrize(
    ("line", "minutes"),
    [
        ("Time zone: UTC", 0), ("UTC offset;0", 0), ("UTC offset (h): -3:30", -210), ("Time zone;Etc/GMT+5", -300),
        ("UTC offset", None), ("UTC offset;-300", None), ("UTC offset;+1;+2", None), ("UTC offset;5.5", None),
        ("Time zone;GMT Standard Time", None), ("Time zone;UTC+1;DST on", None), ("UTC offset;+1 +DST", None),
        ("Time zone;UTC+1, no DST", 60), ("Time zone;UTC+1;DST: off", 60), ("Time zone;CEST (summer time)", 120),
        ("UTC offset: UTC+2", 120), ("Time zone: UTC+1, of the building", 60), ("Time zone: UTC+5.5", None),
    ],
)  # fmt: skip
def test_a_line_above(line: str, minutes: int | None) -> None:
    assert zone_said_in(line) == minutes


@pytest.mark.parametrize("name", ["Local time (UTC+1 +DST)", "Time GMT Standard Time", "Zeit (UTC+1, Sommerzeit)"])
def test_a_clock_that_goes_forward_is_at_no_offset(name: str) -> None:
    assert zone_in(name) is None
