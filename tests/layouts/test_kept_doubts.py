"""A layout that is kept answers for the next file, and not against it: what speaks against that file is asked."""

from __future__ import annotations

from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from readings.models import Upload
from tests.layouts.files import a_log, say, stored
from tests.readings.doing import hand_in, read, told


def log(*values: str, head: str = "time,HCHO", day: int = 15, more: str = "") -> str:
    return a_log(*(f"2026-09-{day} 09:{k:02},{value}{more}" for k, value in enumerate(values)), head=head)


def next_of(campaign: Campaign, meter: Instrument, browser: Client, first: str, second: str, **said: str) -> Upload:
    """The second file, after the first was settled so and its layout kept."""
    upload = hand_in(campaign, first, "first.csv", meter)
    assert read(upload).state == Job.State.ATTENTION
    named = {name.replace("_", "-", 1): value for name, value in said.items()}
    assert say(browser, upload, named, keep="on", name="kept").status_code == 302
    read(upload)
    other = hand_in(campaign, second, "second.csv", meter)
    read(other)
    return other


FINE = tuple(f"0.03{k}" for k in range(9))
AS_PPB = tuple(f"{31 + k}" for k in range(9))


def test_a_unit_that_the_values_belie(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    second = next_of(campaign, meter, browser, log(*FINE), log(*AS_PPB, day=16), unit_1="ppm")
    assert [code for *_, code in told(second)] == ["doubtful"]
    assert not stored(second)


def test_a_doubt_of_one_file_is_none_of_another(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    head = "time,HCHO (ppm)"
    first, second = log(*("3100" for _ in range(9)), head=head), log(*FINE, head=head, day=16)
    other = next_of(campaign, meter, browser, first, second, doubtful_1="mg/m³")
    assert {unit for _, _, unit, _ in stored(other)} == {"ppm"}


def test_a_unit_that_stood_in_the_cells(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    first = log(*(f"{value} ppm" for value in FINE), head="time,HCHO,x", more=",7")
    second = log(*FINE, head="time,HCHO,x", more=",7", day=16)
    other = next_of(campaign, meter, browser, first, second, column_2="ignore")
    assert "unit" in {code for *_, code in told(other)}


def test_hours_of_half_a_day(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    hours = ("11", "12", "01", "02", "11", "12", "01")
    halves = a_log(*(f"2026-09-16 {hour}:59,0.03" for hour in hours), head="time,HCHO")
    other = next_of(campaign, meter, browser, log(*FINE), halves, unit_1="ppm")
    assert "twelve_hours" in {code for *_, code in told(other)}


def test_columns_without_names_are_looked_at(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    first = "".join(f"2026-09-15 09:{k:02},0.03{k},61{k}\n" for k in range(9))
    second = "".join(f"2026-09-16 09:{k:02},61{k},0.03{k}\n" for k in range(9))
    said = {"column_1": "formaldehyde", "unit_1": "ppm", "column_2": "co2", "unit_2": "ppm"}
    other = next_of(campaign, meter, browser, first, second, **said)
    assert not stored(other)
    assert {"look-first", "doubtful"} <= {code for *_, code in told(other)}
