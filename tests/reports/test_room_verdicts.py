"""Each room of a zone has its own verdict, and chance among many is said once."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.urls import reverse

from campaigns import models as m
from methods.limits.loader import load
from methods.wording.numbers import probability
from reports.models import Finding, Result
from reports.pdf import render
from reports.services.freeze import freeze
from reports.services.readiness import prepare
from reports.services.release import sign_and_release
from reports.services.room_verdicts import chance_of
from reports.services.told_results import shared_part
from reports.trace import BudgetPart
from reports.trace.rooms import FORMAT, NO_ROOMS, read_rooms
from tests import factories as make
from tests.reports.judging import FACTOR
from tests.reports.measured import LOW, House, against, house, judge, measure, work
from tests.reports.pages import Browse, campaign_url, text_of, zone_url
from tests.reports.test_pdf import text_of as text_in_pdf
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    """In the attic studio three rooms: one above, one below, one never visited."""
    found = house(world.site)
    for hour, name, level in ((24, "Attic box room", LOW), (27, "Attic box room", 0.8 * LOW)):
        room, _ = m.Room.objects.get_or_create(zone=found.high, name=name)
        point = make.PointFactory(room=room, name=f"shelf {hour}")
        measure(found, point, make.START + timedelta(hours=hour), level, line=1000 * hour)
    make.RoomFactory(zone=found.high, name="Attic loft")
    judge(found.campaign)
    return found


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def finding(zone: m.Zone) -> Finding:
    return Finding.objects.get(zone=zone)


def test_each_room_speaks_through_its_own_governing_result(measured: House) -> None:
    told = finding(measured.high)
    high, low, loft = told.by_room.rooms
    assert [room.verdict for room in told.by_room.rooms] == ["above", "below", "unmeasured"]
    of_low = m.Deployment.objects.get(point__name="shelf 24").results.get()
    assert (high.fraction, high.is_met) == (told.fraction, False)
    assert low.fraction == pytest.approx((of_low.value or 0) / 0.1)
    assert high.sentence == f"Attic studio room: {high.text}, above limit."
    assert (loft.sentence, loft.compared) == ("Attic loft: not measured.", None)


def test_the_zone_keeps_its_worst_rooms_verdict_and_counts_the_others(measured: House) -> None:
    told = finding(measured.high)
    assert told.verdict == "above"
    assert told.statement.endswith("Room by room: 1 of 3 rooms above, 1 below, 1 not measured.")
    assert "Room by room" not in finding(measured.low).statement, "one room needs no counting"


def test_a_new_room_of_a_measured_zone_is_counted(measured: House) -> None:
    make.RoomFactory(zone=measured.low, name="Reading corner")
    work()
    assert finding(measured.low).statement.endswith("1 of 2 rooms below, 1 not measured.")


def test_the_results_of_one_instrument_share_what_does_not_shrink(measured: House) -> None:
    high, low, _ = finding(measured.high).by_room.rooms
    assert high.instrument == low.instrument == str(measured.instrument.pk)
    assert 0 < high.shared <= 1
    parts = [BudgetPart("zero", 1.0, 0.5, "", missing=False), BudgetPart("resolution", 1.0, 0.5, "", missing=False)]
    assert shared_part([*parts, BudgetPart("span", None, None, "", missing=True)]) == 0.5


@pytest.mark.parametrize(("code", "level"), [("HCHO-WHO10-30M", 0.1), ("TRH-WHO", 0.05), ("TRH-JP-T", 0.1)])
def test_the_chance_of_a_call_follows_the_levels_of_the_campaign(measured: House, code: str, level: float) -> None:
    rooms = list(finding(measured.high).by_room.compared)
    assert chance_of(rooms, load()[code], above=0.9, below=0.05).expected == pytest.approx(2 * level)


def test_rooms_of_another_format_tell_nothing(measured: House) -> None:
    assert read_rooms({"format": FORMAT + 1, "chambers": []}) == read_rooms({}) == NO_ROOMS


# --- report -----------------------------------------------------------------------------------------------------------


def test_the_report_signs_each_room_and_what_is_chance(measured: House) -> None:
    content = freeze(measured.campaign)
    zones = {zone.name: zone.findings[0].result for zone in content.zones}
    attic, library = zones["Attic studio"], zones["Library"]
    assert attic is not None
    assert library is not None
    *_, told, chance, truly = attic.assumptions
    high, low, _ = finding(measured.high).by_room.rooms
    assert told == (
        "Room by room, 1 of 3 rooms above, 1 below, 1 not measured: "
        f"Attic studio room {high.text}, above limit; Attic box room {low.text}, below limit; Attic loft not measured."
    )
    assert chance.startswith("If all 2 compared rooms lay exactly at the limit, 0.1 would")
    assert truly.startswith("The probability that at least one of these 2 rooms")
    assert not any("rooms" in said for said in library.assumptions)
    assert content.judging[-2].startswith("C1, the whole site: If all 3 compared rooms lay exactly at the limit, 0.2 ")
    assert content.judging[-1].startswith("Rooms that one instrument measured share its errors")


# --- pages ------------------------------------------------------------------------------------------------------------


def test_the_zone_page_has_a_row_and_a_sentence_for_each_room(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    page = browse(consultant).get(zone_url(measured.campaign, measured.high))
    high, low, loft = page.context["rooms"]
    assert high[0]["url"] == reverse("result", args=[finding(measured.high).governing.key])
    told = finding(measured.high).by_room.rooms
    assert [high[0]["text"], low[0]["text"], loft[0]] == [room.sentence for room in told]
    assert high[1]["fraction"] > 1 > low[1]["fraction"]
    assert loft[2] == {"verdict": "unmeasured"}
    text = text_of(page)
    assert "1 of 3 rooms above, 1 below, 1 not measured. ≤ 0.1" in text
    assert (
        "If all 2 compared rooms lay exactly at the limit, 0.1 would be expected to be called above by chance" in text
    )
    assert "at least one of these 2 rooms truly lies above the limit is over 99.9 %" in text
    assert "share its errors of zero" in text


def test_a_zone_of_one_room_says_nothing_of_many(measured: House, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(zone_url(measured.campaign, measured.low))
    assert (page.context["rooms"], page.context["chances"], page.context["of_criteria"]) == ([], [], "")


def test_several_criteria_say_once_how_many_would_be_called_by_chance(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    against(measured, "HCHO-WHO10-30M", "HCHO-HC-1H")
    text = text_of(browse(consultant).get(zone_url(measured.campaign, measured.high)))
    assert text.count("These are 4 comparisons of rooms with limits: if each lay exactly at its limit, 0.2 of") == 1


def test_the_campaign_page_keeps_the_worst_and_says_how_many_share_it(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    page = browse(consultant).get(campaign_url(measured.campaign))
    attic, library, _ = page.context["ranking"]
    assert (attic[4]["verdict"], attic[4]["note"]) == ("above", "1 of 3 rooms above")
    assert library[4]["note"] == ""
    text = text_of(page)
    assert text.count("If all 3 compared rooms lay exactly at the limit") == 1
    cell = next(zone for zone in page.context["sections"][0]["floors"][0]["zones"] if zone["name"] == "Attic studio")
    assert [chip["measured"] for chip in cell["chips"]] == [True, True, False]
    assert page.content.decode().count('class="chip hatched" title="Attic loft: not measured"') == 1


def test_on_the_plan_each_room_is_painted_by_its_own_result(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    for west, room in enumerate(m.Room.objects.filter(zone=measured.high)):
        m.Room.objects.filter(pk=room.pk).update(outline=[[west, 0], [west + 1, 0], [west + 1, 2], [west, 2]])
    page = browse(consultant).get(campaign_url(measured.campaign))
    (plan,) = page.context["plans"]
    (zone,) = plan["by_room"]
    assert (zone["name"], zone["rooms"]) == ("Attic studio", "1 of 3 rooms above")
    looks = {room.name: room.look for room in plan["drawing"].rooms}
    assert [looks[name]["verdict"] for name in ("Attic studio room", "Attic box room", "Attic loft")] == [
        "above", "below", "unmeasured",
    ]  # fmt: skip
    assert page.content.decode().count('class="plan-room') == 3


# --- undecided rooms --------------------------------------------------------------------------------------------------


def undecided_box_room(measured: House) -> Result:
    """The box room of the attic as near to the limit as its meter cannot tell; the zone stays above it."""
    room = m.Room.objects.get(zone=measured.high, name="Attic box room")
    point = make.PointFactory(room=room, name="near the limit")
    measure(measured, point, make.START + timedelta(hours=30), 0.1 / FACTOR, line=5000)
    work()
    return Result.objects.get(point=point)


def test_the_report_says_of_each_undecided_room_how_likely_it_is_and_what_would_decide_it(
    measured: House, consultant: m.User, browse: Browse, tmp_path: Path
) -> None:
    result = undecided_box_room(measured)
    assert (result.verdict, finding(measured.high).verdict) == ("undecided", "above")
    assert result.traced.advice
    content = freeze(measured.campaign)
    attic = next(zone for zone in content.zones if zone.name == "Attic studio").findings[0].result
    assert attic is not None
    (said,) = [words for words in attic.assumptions if words.startswith("Attic box room is undecided: ")]
    assert f"the probability that the true value is above 0.1 mg/m³ is {probability(result.p_above or 0)}." in said
    assert said.endswith(f" What would decide it: {result.traced.advice}")
    report = sign_and_release(measured.campaign, consultant)
    page = browse(consultant).get(reverse("released-zone", args=[report.key, measured.high.key]))
    assert said in text_of(page)
    assert said.split(":")[0] in " ".join(text_in_pdf(render(report.record), tmp_path).split())


def test_before_a_release_undecided_rooms_of_other_zones_are_listed(measured: House) -> None:
    undecided_box_room(measured)
    (item,) = [item for item in prepare(measured.campaign).advisory if item.code == "undecided"]
    assert item.names == ("Attic studio, Attic box room (HCHO-WHO10-30M)",)
