"""The strip of a campaign's days: places on it and its ticks, through a clock change too."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from methods.figures.days import NARROWEST, DayStrip

BERLIN = ZoneInfo("Europe/Berlin")
START = datetime(2026, 9, 14, 6, tzinfo=UTC)


def test_moments_lie_in_proportion_and_outside_ones_at_the_edge() -> None:
    strip = DayStrip(START, START + timedelta(hours=10))
    assert strip.at(START) == 0
    assert strip.at(START + timedelta(hours=4)) == 40
    assert strip.at(START + timedelta(days=3)) == 100
    assert strip.bar(START + timedelta(hours=2), START + timedelta(hours=3)) == (20, 10)


def test_a_visit_of_minutes_in_weeks_can_be_seen_and_stays_on_the_strip() -> None:
    strip = DayStrip(START, START + timedelta(days=30))
    x, width = strip.bar(strip.end - timedelta(minutes=5), strip.end)
    assert width == NARROWEST
    assert x + width <= 100


@pytest.mark.parametrize(
    ("hours", "first", "count"), [(10, "08:00", 11), (30, "09:00", 10), (72, "12:00", 6), (24 * 20, "21 Sep", 2)]
)
def test_ticks_are_round_hours_or_days_of_the_site(hours: int, first: str, count: int) -> None:
    ticks = DayStrip(START, START + timedelta(hours=hours)).ticks(BERLIN)
    assert (ticks[0].text, len(ticks)) == (first, count)


def test_the_day_of_the_clock_change_is_an_hour_longer() -> None:
    """Z-04: 2024-10-27 has 25 hours in Berlin (IANA database)."""
    start = datetime(2024, 10, 25, 22, tzinfo=UTC)  # midnight of the 26th there
    strip = DayStrip(start, start + timedelta(days=7))
    days = [tick.at * strip.hours / 100 for tick in strip.ticks(BERLIN)]
    assert days[:4] == pytest.approx([0, 24, 49, 73], abs=0.01)
