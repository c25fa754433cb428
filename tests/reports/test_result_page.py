"""The page of one number: everything it rests on, down to the line of the file."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from campaigns import models as m
from methods.limits.loader import load
from readings.models import Reading, SavedLayout, Upload
from reports.models import Result
from tests import factories as make
from tests.database import unguarded
from tests.reports.judging import ends_of, outdoor_of
from tests.reports.measured import House, against, house, judge, measure
from tests.reports.pages import Browse, text_of
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H", "HCHO-NIOSH-C"))


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def result(measured: House) -> Result:
    return Result.objects.get(point__room__zone=measured.high, criterion__position=0)


def at_work(measured: House) -> Result:
    return Result.objects.get(point__room__zone=measured.high, criterion__limit__code="HCHO-NIOSH-C")


def url(result: Result, query: str = "") -> str:
    return reverse("result", args=[result.key]) + query


def test_number_limit_document_and_reasons(result: Result, consultant: m.User, browse: Browse) -> None:
    text = text_of(browse(consultant).get(url(result)))
    assert "above limit" in text
    assert "against ≤ 0.1 mg/m³ (WHO (Europe) 2010)" in text
    assert "Guidelines for indoor air quality: selected pollutants, 2010, chapter 3" in text
    assert "no: check against the document" in text
    assert "at 25 °C, 101.325 kPa, taken; the document states none" in text
    for reason in result.stated_reasons:
        assert reason.words in text
    assert "converted from ppm to mg/m³ at 25 °C, 101.325 kPa" in text
    assert result.digest in text


def test_a_confirmed_limit_is_no_longer_marked(result: Result, consultant: m.User, browse: Browse) -> None:
    browse(consultant).post(reverse("limit-check", args=[result.criterion.limit.key]))
    text = text_of(browse(consultant).get(url(result)))
    assert "no: check against the document" not in text
    assert f"yes, by {consultant}" in text


def test_why_it_cannot_be_compared(measured: House, consultant: m.User, browse: Browse) -> None:
    short = Result.objects.get(point__room__zone=measured.high, criterion__position=1)
    text = text_of(browse(consultant).get(url(short)))
    assert "Mean of the visit:" in text
    assert "No. The number is shown as context." in text
    assert "shorter than the 8 h averaged over" in text
    indication = Result.objects.get(point__room__zone=measured.high, criterion__position=2)
    text = text_of(browse(consultant).get(url(indication)))
    assert "As an indication only." in text
    assert "Exposure at work is judged from samples worn by the person" in text


def test_the_budget_as_table_and_bars(result: Result, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(url(result))
    rows = page.context["budget"]
    assert [row[0] for row in rows[:-2]] == [part.name for part in result.budget_parts]
    assert float(rows[-2][1]["text"]) == pytest.approx(result.u, rel=0.05)
    assert float(rows[-1][1]["text"]) == pytest.approx(2 * (result.u or 0), rel=0.05)
    assert page.context["figure"]["data"][0]["x"] == pytest.approx([part.u for part in result.budget_parts])


def test_a_part_nobody_knows_is_named_and_not_taken_as_zero(
    measured: House, result: Result, consultant: m.User, browse: Browse
) -> None:
    m.ChannelSpec.objects.update(u_interference=None)
    judge(measured.campaign)
    page = browse(consultant).get(url(result))
    assert "nobody entered it, and it is not taken as zero" in text_of(page)
    assert "not known" in page.context["figure"]["data"][0]["text"]


def test_the_chain_leads_through_every_step_to_the_line(result: Result, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(url(result, "?reading=0"))
    steps = {step.name: step for step in page.context["chain"]}
    assert list(steps) == [
        "Result", "In the unit of the limit", "Flags", "Calibration", "Span", "Zero", "Stored", "Deployment", "Clock",
        "Instrument", "File", "Line",
    ]  # fmt: skip
    first, _ = ends_of(result)
    assert steps["Line"].url == reverse("upload-line", args=[first.upload, first.line])
    assert steps["Stored"].text == f"{first.raw:.4g} ppm"
    value = float(steps["In the unit of the limit"].text.split(" mg/m³")[0])
    assert value == pytest.approx(float(steps["Calibration"].text.removesuffix(" ppm")) * 30.026 / 24.465, rel=1e-3)
    assert "TST-0001" in steps["Instrument"].text
    assert ends_of(result)[0].sha256 in text_of(page)
    assert f"line {first.line} of attic and library.csv" in text_of(page)


def test_the_chain_says_what_a_stored_value_is_and_who_says_so(
    measured: House, result: Result, consultant: m.User, browse: Browse
) -> None:
    def told() -> str:
        steps = {step.name: step for step in browse(consultant).get(url(result, "?reading=0")).context["chain"]}
        return str(steps["Instrument"].note)

    assert told().endswith("a momentary value, as the instrument type says")
    layout = SavedLayout.objects.create(
        organisation=measured.instrument.organisation, name="hall meter", content={}, seen={}, represents="end"
    )
    Upload.objects.update(kept_layout=layout)
    assert told().endswith("a mean of the logging interval, stamped at its end, as the layout “hall meter” says")
    other = Upload.objects.create(campaign=measured.campaign, instrument=measured.instrument, size=1, sha256="0" * 64)
    shown = ends_of(result)[0].line
    with unguarded("readings_reading"):
        Reading.objects.filter(channel=measured.channel).exclude(line=shown).update(upload=other)
    assert told().endswith("says; moved in time to count, like most of the visit, as a momentary value")


def test_each_step_shows_its_numbers(measured: House, result: Result, consultant: m.User, browse: Browse) -> None:
    m.FieldCheck.objects.update(observed=0.004)
    m.Calibration.objects.update(slope=0.9)
    judge(measured.campaign)
    steps = {s.name: s for s in browse(consultant).get(url(result, "?reading=0")).context["chain"]}
    stored = float(steps["Stored"].text.split()[0])
    assert float(steps["Zero"].text.split()[0]) == pytest.approx(stored - 0.004, rel=1e-3)
    assert float(steps["Calibration"].text.split()[0]) == pytest.approx((stored - 0.004) * 0.9, rel=1e-3)
    assert "zero 0.004" in steps["Zero"].note
    assert "slope 0.9 (2026-03-02)" in steps["Calibration"].note


def test_the_readings_of_the_window_stored_and_corrected(result: Result, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(url(result, "?reading=0"))
    assert page.context["page_obj"].paginator.count == result.reading_count
    first = page.context["readings"][0]
    assert first[1].replace("\N{NO-BREAK SPACE}", " ") == ends_of(result)[0].stamp
    assert first[5]["text"] == f"line {ends_of(result)[0].line}"
    later = browse(consultant).get(url(result, "?reading=0&page=2"))
    assert later.context["page_obj"].number == 2


@pytest.mark.parametrize("asked", ["?reading=99999", "?reading=-1", "?reading=abc", "?page=77", "?reading=9" * 30])
def test_a_reading_that_is_not_there_shows_another(
    result: Result, consultant: m.User, browse: Browse, asked: str
) -> None:
    page = browse(consultant).get(url(result, asked))
    assert page.status_code == 200
    assert page.context["chain"]


def test_the_highest_reading_is_retraced_first(result: Result, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(url(result))
    everything = [
        float(row[3])
        for n in page.context["page_obj"].paginator.page_range
        for row in browse(consultant).get(url(result, f"?page={n}")).context["readings"]
    ]
    assert everything[page.context["chosen_reading"]] == max(everything)


def test_a_result_without_a_value_says_why(measured: House, consultant: m.User, browse: Browse) -> None:
    """A visit of a minute: its one reading is still settling."""
    start = make.START + timedelta(minutes=20)
    m.Deployment.objects.filter(point__room__zone=measured.high).update(
        starts_at=start, ends_at=start + timedelta(seconds=80)
    )
    judge(measured.campaign)
    bare = Result.objects.get(point__room__zone=measured.high, criterion__position=0)
    assert bare.value is None
    page = browse(consultant).get(url(bare))
    assert page.status_code == 200
    assert "No reading of this visit counts" in text_of(page)
    assert "chain" not in page.context


def test_an_outdoor_result_has_a_page(measured: House, consultant: m.User, browse: Browse) -> None:
    point = make.PointFactory(room=None, site=measured.campaign.site, name="north lawn", kind="outdoor")
    m.Deployment.objects.filter(point__room__zone=measured.low).update(point=point)
    judge(measured.campaign)
    outdoor = Result.objects.get(point=point, criterion__position=0)
    page = browse(consultant).get(url(outdoor))
    assert "The limit is for indoor air, and the point is outdoors." in text_of(page)


def test_strangers_and_clients_get_nothing(
    result: Result, stranger: m.User, client_person: m.User, browse: Browse
) -> None:
    for person in (stranger, client_person):
        assert browse(person).get(url(result)).status_code == 404


def test_the_window_is_marked_on_the_readings_of_the_stay(result: Result, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(url(result))
    marks = [trace for trace in page.context["course"]["data"] if trace.get("name") == "worst 30-minute mean"]
    drawn = marks or [t for t in page.context["course"]["data"] if result.value in (t.get("y") or [])]
    assert drawn
    assert set(drawn[0]["y"]) == {result.value}
    assert "The thick bar is the window the result rests on" in text_of(page)


def test_outdoor_air_and_what_was_assumed_are_told(measured: House, consultant: m.User, browse: Browse) -> None:
    lawn = make.PointFactory(room=None, site=measured.campaign.site, name="north lawn", kind="outdoor")
    measure(measured, lawn, make.START + timedelta(hours=6), 0.010, line=500)
    judge(measured.campaign)
    found = Result.objects.get(point__room__zone=measured.high, criterion__position=0)
    page = browse(consultant).get(url(found))
    told = dict(page.context["outdoor"])
    assert told["Outdoors"].startswith(outdoor_of(found).text)
    assert "north lawn" in told["Outdoors"]
    assert float(told["Ratio"].split()[0]) == pytest.approx(25, rel=0.05)
    text = text_of(page)
    assert "30 min of 30 min, by 30 readings; no gap" in text
    assert "In fixed blocks" in text


def test_a_superseded_limit_says_so_with_its_dates(measured: House, consultant: m.User, browse: Browse) -> None:
    old = next(limit for limit in load().values() if limit.parameter == "formaldehyde" and limit.valid_to)
    found = against(measured, old.code)
    text = text_of(browse(consultant).get(url(Result.objects.get(point__room__zone=found.high))))
    assert f"Status superseded until {old.valid_to:%Y-%m-%d}" in text or "Status superseded from" in text
    assert str(old.valid_to) in text


def test_for_a_limit_at_work_it_says_what_en_482_asks(
    measured: House, result: Result, consultant: m.User, browse: Browse
) -> None:
    """0.25 ppm against a ceiling of 0.1 ppm: more than twice the limit, where nothing is asked for."""
    assert "EN 482 asks for no particular uncertainty" in text_of(browse(consultant).get(url(at_work(measured))))
    assert "EN 482" not in text_of(browse(consultant).get(url(result)))
