"""Readings as one stream of CSV: RFC 4180 in form, the same as JSON in content, harmless in a spreadsheet."""

from __future__ import annotations

import csv
import gc
import io
import math
import tracemalloc
from datetime import datetime, timedelta
from typing import Any

import pytest

from campaigns.models import Campaign, Deployment, Instrument, Site
from methods.quantities.flags import Flag
from methods.wording.spreadsheets import FORMULA_STARTS, harmless, quoted
from tests import factories as make
from tests.api.making import channel_of, deployment_on, store
from tests.api.program import Program, text_of
from tests.worlds import World

WALL = datetime(2026, 9, 15, 9, 30)  # noqa: DTZ001 - on the logger's clock, which has no zone
PATH = "readings/"


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> Campaign:
    """Two instruments; one measures two parameters, stored an error code, and values below zero."""
    first = deployment_on(world.site)
    store(first, [0.031, math.nan, -0.002, 1e-7, 0.1 + 0.2], first=WALL, flags=[0, Flag.SENSOR_ERROR, 0, 1, 0])
    second = deployment_on(world.site, campaign=first.campaign)
    make.ChannelSpecFactory.create(
        instrument_type=second.instrument.type, parameter="pm25", unit="µg/m³", range_high=1000
    )
    store(second, [0.05] * 40, first=WALL, every_s=60)
    store(second, [float(k) for k in range(40)], first=WALL, every_s=60, channel=channel_of(second, "pm25"))
    return first.campaign


@pytest.fixture
def campaign(own_world: World) -> Campaign:
    found: Campaign = own_world.built
    return found


def stream(program: Program, **params: Any) -> str:
    response = program.ask(PATH, format="csv", **params)
    assert response.status_code == 200, response.content
    return text_of(response)


def as_csv(row: dict[str, Any]) -> dict[str, str]:
    """What a row of JSON must look like in CSV."""
    cells = {name: "" if value is None else str(value) for name, value in row.items()}
    return cells | {"flag_words": "; ".join(row["flag_words"])}


class TestContent:
    def test_it_equals_the_json(self, campaign: Campaign, program: Program) -> None:
        rows = program.rows(PATH, campaign=campaign.key, page_size=1000)
        assert len(rows) == 85
        assert list(csv.DictReader(io.StringIO(stream(program, campaign=campaign.key)))) == [as_csv(r) for r in rows]

    def test_the_same_filters_hold(self, campaign: Campaign, program: Program) -> None:
        wanted = {"campaign": campaign.key, "parameter": "pm25", "from": "2026-09-15T08:35:00Z"}
        rows = program.rows(PATH, page_size=1000, **wanted)
        assert len(rows) == 35
        assert list(csv.DictReader(io.StringIO(stream(program, **wanted)))) == [as_csv(row) for row in rows]

    def test_pandas_reads_numbers_as_numbers_and_times_as_times(self, campaign: Campaign, program: Program) -> None:
        import pandas as pd

        table = pd.read_csv(io.StringIO(stream(program, campaign=campaign.key)), parse_dates=["utc", "stamp"])
        assert len(table) == 85
        assert [str(table[name].dtype) for name in ("raw", "value", "flags", "nth", "line")] == [
            "float64", "float64", "int64", "int64", "int64",
        ]  # fmt: skip
        assert str(table["utc"].dt.tz) == "UTC"
        assert ((table["stamp"] - table["utc"].dt.tz_localize(None)) == pd.Timedelta(hours=1)).all()
        assert table["raw"].min() == -0.002
        assert table["raw"].isna().sum() == 1
        assert set(table["unit"]) == {"ppm", "µg/m³"}

    def test_nothing_is_a_header_alone(self, site: Site, program: Program) -> None:
        text = stream(program, campaign=make.CampaignFactory.create(site=site).key)
        assert text.count("\r\n") == 1
        assert text.startswith(
            "utc,campaign,deployment,point,instrument,instrument_name,parameter,unit,probe,raw,value,"
        )


class TestForm:
    def test_accept_chooses_it_too(self, campaign: Campaign, program: Program) -> None:
        path = f"/api/v1/{PATH}?campaign={campaign.key}"
        response = program.client.get(path, headers={"Accept": "text/csv"})
        assert text_of(response) == stream(program, campaign=campaign.key)
        assert program.client.get(path, headers={"Accept": "text/html"}).status_code == 406

    def test_it_is_an_attachment_of_a_safe_type_and_name(self, campaign: Campaign, program: Program) -> None:
        """RFC 4180, 3 (text/csv; header=present) and RFC 6266 (attachment)."""
        Campaign.objects.update(name='../Ab\r\n"x"; ünd .exe')
        response = program.ask(PATH, campaign=campaign.key, format="csv")
        assert response.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
        assert response.headers["Content-Disposition"] == 'attachment; filename="readings-ab-x-und-exe.csv"'
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert "no-store" in response.headers["Cache-Control"]

    def test_a_name_without_letters(self, campaign: Campaign, program: Program) -> None:
        Campaign.objects.update(name="空気")
        disposition = program.ask(PATH, campaign=campaign.key, format="csv").headers["Content-Disposition"]
        assert disposition == f'attachment; filename="readings-{campaign.key}.csv"'

    def test_every_line_ends_as_rfc_4180_says(self, campaign: Campaign, program: Program) -> None:
        lines = stream(program, campaign=campaign.key).split("\r\n")
        assert lines.pop() == ""
        assert len(lines) == 86
        assert not [line for line in lines if "\n" in line or "\r" in line]

    @pytest.mark.parametrize(("name", "text"), [("page_size", "10"), ("cursor", "x"), ("shelf", "3"), ("point", "x")])
    def test_it_has_no_pages_and_errors_are_json(
        self, campaign: Campaign, program: Program, name: str, text: str
    ) -> None:
        response = program.ask(PATH, campaign=campaign.key, format="csv", **{name: text})
        assert response.status_code == 400
        assert set(response.json()) == {name}


class TestHarmless:
    """OWASP, CSV injection (from memory): = + - @ tab and carriage return start formulas."""

    @pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
    def test_text_that_could_run_does_not(self, campaign: Campaign, program: Program, start: str) -> None:
        nasty = f'{start}HYPERLINK("http://x.example","a, b")'
        Instrument.objects.update(name=nasty)
        rows = list(csv.DictReader(io.StringIO(stream(program, campaign=campaign.key), newline="")))
        assert {row["instrument_name"] for row in rows} == {"'" + nasty}
        assert len(rows) == 85

    def test_numbers_stay_numbers(self, campaign: Campaign, program: Program) -> None:
        rows = list(csv.DictReader(io.StringIO(stream(program, campaign=campaign.key))))
        assert "-0.002" in {row["raw"] for row in rows}
        assert "1e-07" in {row["raw"] for row in rows}

    def test_no_text_cell_starts_a_formula(self, campaign: Campaign, program: Program) -> None:
        numbers = {"raw", "value", "flags", "nth", "line"}
        for row in csv.DictReader(io.StringIO(stream(program, campaign=campaign.key))):
            assert not [name for name, text in row.items() if name not in numbers and text.startswith(FORMULA_STARTS)]

    def test_json_is_left_as_it_is(self, campaign: Campaign, program: Program) -> None:
        Instrument.objects.update(name="=1+1")
        assert {row["instrument_name"] for row in program.rows(PATH, campaign=campaign.key)} == {"=1+1"}

    @pytest.mark.parametrize("text", ["", "meter A", "a=b", "'=1", "µ", "1-2", 'say "x"', "a,b", "line\nbreak"])
    def test_other_text_stays(self, text: str) -> None:
        assert harmless(text) == text

    @pytest.mark.parametrize("text", ["", "plain", "a,b", 'say "x"', "two\r\nlines", "=1,2", "\tx"])
    def test_what_is_quoted_is_read_back(self, text: str) -> None:
        """Python's csv module reads RFC 4180."""
        line = f"{quoted(text)},end\r\n"
        assert next(csv.reader(io.StringIO(line, newline=""))) == [harmless(text), "end"]


class TestLong:
    def test_it_comes_in_pieces(self, site: Site, program: Program) -> None:
        deployment = deployment_on(site)
        store(deployment, [0.05] * 12_000, first=WALL, every_s=0.1)
        response = program.ask(PATH, campaign=deployment.campaign.key, format="csv")
        pieces = [len(piece) for piece in response]
        assert len(pieces) == 4  # the header, and three blocks of at most 5,000 lines
        assert max(pieces) < 2_000_000

    def test_memory_does_not_grow_with_the_campaign(self, site: Site, program: Program) -> None:
        """Peak memory of the stream with eight instruments against one with as many readings each."""
        campaign = make.CampaignFactory.create(site=site)
        peaks = []
        for wanted in (1, 8):
            while campaign.deployments.count() < wanted:
                store(deployment_on(site, campaign=campaign), [0.05] * 6_000, first=WALL, every_s=1)
            peaks.append(self.peak(program, campaign))
        assert peaks[1] < 1.5 * peaks[0]

    def peak(self, program: Program, campaign: Campaign) -> int:
        """Peak of traced memory in bytes while the stream is read and thrown away."""
        response = program.ask(PATH, campaign=campaign.key, format="csv")
        seldom = gc.get_threshold()
        gc.set_threshold(700, 10, 10)  # as a server has it, and not as tests/conftest.py
        tracemalloc.start()
        try:
            for _ in response:
                pass
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
            gc.set_threshold(*seldom)

    def test_what_comes_while_it_streams_breaks_nothing(self, campaign: Campaign, program: Program) -> None:
        response = program.ask(PATH, campaign=campaign.key, format="csv")
        pieces = iter(response)
        next(pieces)
        deployment = Deployment.objects.filter(campaign=campaign)[0]
        store(deployment, [0.5] * 10, first=WALL + timedelta(minutes=20))
        text = b"".join(pieces).decode()
        assert text.count("\r\n") == 95  # nothing had been read when they came
