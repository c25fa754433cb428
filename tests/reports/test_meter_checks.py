"""What checks around a visit do to its result: its uncertainty, how far it counts, and what is said of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import sqrt
from typing import Any

import pytest
from django.urls import reverse

from campaigns import models as m
from campaigns.services import field_checks
from methods.wording.meters import sentences
from reports.content.stored import from_store, to_store
from reports.models import Result
from reports.services.freeze import freeze
from tests import factories as make
from tests.reports.judging import FACTOR, result_at, store
from tests.reports.measured import House, house, judge
from tests.reports.pages import Browse, campaign_url, text_of, zone_url
from tests.reports.signing import signed_content
from tests.worlds import World

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("world_of_file")]


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def judged(own_world: World) -> House:
    built: House = own_world.built
    return built


def zero(judged: House, hours: float, shown: float, **fields: object) -> m.FieldCheck:
    """``hours`` after the first visit began, which lasts an hour and a half."""
    at = make.START + timedelta(hours=hours)
    return m.FieldCheck.objects.create(
        channel=judged.channel, kind="zero", at=at, observed=shown, **{"u_reference": 0.0, **fields}
    )


def again(judged: House) -> Result:
    judge(judged.campaign)
    return result_at(judged.high)


def part(result: Result, name: str) -> float | None:
    return {each.name: each.u for each in result.budget_parts}[name]


def source(result: Result, name: str) -> str:
    return {each.name: each.source for each in result.budget_parts}[name]


def test_between_two_checks_the_drift_is_never_nothing(judged: House) -> None:
    """0.0005 ppm a day; zero checks at −1 h and 7 h, the window of 30 min nearest to the middle is 2.5 h at most."""
    drift = part(result_at(judged.high), "drift")
    assert drift is not None
    assert 0.0005 * FACTOR * 1 / 24 < drift <= 0.0005 * FACTOR * 2.51 / 24


def test_a_zero_that_moved_between_two_checks(judged: House) -> None:
    zero(judged, 2, 0.004)
    result = again(judged)
    assert part(result, "drift") == pytest.approx(0.002 * FACTOR, rel=0.01)
    assert (
        source(result, "drift")
        == "between the zero checks of 2026-09-15 08:00 and 2026-09-15 11:00: half of the change"
    )
    assert result.evidence == ""


def test_a_check_outside_its_tolerance_leaves_an_indication_with_the_whole_step(judged: House) -> None:
    zero(judged, 2, 0.02)
    result = again(judged)
    assert part(result, "drift") == pytest.approx(0.02 / sqrt(3) * FACTOR, rel=0.01)
    assert (result.evidence, result.comparability) == ("check_failed", "indicative")
    assert "The zero check of meter A on 2026-09-15 11:00 failed." in result.stated_reasons[0].words


def test_rounding_and_reference_of_a_check_count(judged: House) -> None:
    judged.channel.field_checks.update(u_reference=0.003)
    expected = sqrt(0.002**2 + 0.001**2 / 12 + 0.003**2) * FACTOR
    assert part(again(judged), "zero") == pytest.approx(expected, rel=1e-3)


def test_a_reference_that_nobody_entered_is_missing(judged: House) -> None:
    judged.channel.field_checks.update(u_reference=None)
    assert part(again(judged), "reference of the checks") is None


@pytest.mark.parametrize(("calibrated", "checked", "evidence"), [
    (True, False, ""), (False, True, ""), (False, False, "type_data_only"),
])  # fmt: skip
def test_type_data_alone_are_no_knowledge_of_a_meter(
    judged: House, calibrated: bool, checked: bool, evidence: str
) -> None:
    if not calibrated:
        judged.channel.calibrations.all().delete()
    if not checked:
        judged.channel.field_checks.all().delete()
    result = again(judged)
    assert result.evidence == evidence
    assert (result.comparability == "indicative") is bool(evidence)


def test_a_check_of_another_year_is_none_of_the_campaign(judged: House) -> None:
    judged.channel.calibrations.all().delete()
    judged.channel.field_checks.all().delete()
    zero(judged, -24 * 365, 0.0)
    assert again(judged).evidence == "type_data_only"


def test_a_check_that_only_makes_it_surer_changes_the_digest(judged: House) -> None:
    """The zero is the same before and after it, so that no reading changes."""
    before = result_at(judged.high)
    zero(judged, 2, 0.0)
    after = again(judged)
    assert after.value == before.value
    assert after.digest != before.digest
    assert (after.u or 0) < (before.u or 0)


def test_an_accepted_check_counts_in_full_again_and_is_printed(judged: House, consultant: m.User) -> None:
    check = zero(judged, 2, 0.02)
    left = again(judged)
    field_checks.accept(check, "the bag was not clean", consultant)
    result = again(judged)
    assert (result.evidence, result.comparability) == ("check_accepted", "yes")
    assert result.u == left.u
    (told,) = [reason.words for reason in result.stated_reasons if reason.code == "check_accepted"]
    assert told.startswith(f"The zero check of meter A on 2026-09-15 11:00 failed; accepted by {consultant} on ")
    assert told.endswith(": the bag was not clean.")


def test_a_failed_check_of_the_meter_outdoors_counts_where_its_value_was_taken_off(judged: House) -> None:
    site, start = judged.campaign.site, make.START + timedelta(hours=3)
    outside = make.InstrumentFactory(organisation=site.organisation, name="meter B", serial="TST-2", clock_basis="utc")
    for hours, shown in ((2, 0.0), (6, 0.05)):
        at = make.START + timedelta(hours=hours)
        m.FieldCheck.objects.create(channel=outside.channels.get(), kind="zero", at=at, observed=shown, u_reference=0.0)
    lawn = make.PointFactory(room=None, site=site, name="lawn", kind="outdoor")
    end = start + timedelta(hours=1)
    make.DeploymentFactory(campaign=judged.campaign, instrument=outside, point=lawn, starts_at=start, ends_at=end)
    store(judged, outside.channels.get(), start, [0.01] * 60)
    m.Criterion.objects.create(campaign=judged.campaign, limit=m.Limit.objects.get(code="HCHO-CN-50325-I"), position=9)
    judge(judged.campaign)
    assert result_at(judged.low).evidence == ""
    less_outdoors = result_at(judged.low, "HCHO-CN-50325-I")
    assert less_outdoors.evidence == "check_failed"
    assert any("The zero check of meter B on" in reason.words for reason in less_outdoors.stated_reasons)


# --- where it is said -------------------------------------------------------------------------------------------------


def test_the_campaign_page_counts_what_rests_on_a_failed_check(
    judged: House, consultant: m.User, browse: Browse
) -> None:
    check = zero(judged, 2, 0.02)
    again(judged)
    lacking = {lack.what: lack for lack in browse(consultant).get(campaign_url(judged.campaign)).context["lacks"]}
    said = lacking["Results that rest on a failed check: an indication only"]
    assert said.names == ["meter A (2 results)"]
    assert said.url == reverse("instrument-fitness", args=[judged.instrument.key])
    field_checks.accept(check, "seen", consultant)
    again(judged)
    lacking = {lack.what: lack for lack in browse(consultant).get(campaign_url(judged.campaign)).context["lacks"]}
    assert lacking["Results that rest on a failed check that was accepted"].names == ["meter A (2 results)"]


def test_the_table_of_the_instrument_says_which_failed(judged: House, consultant: m.User, browse: Browse) -> None:
    check, page = zero(judged, 2, 0.02), reverse("instrument", args=[judged.instrument.key])
    outcome = {row.pk: failed for row, _, failed in browse(consultant).get(page).context["field_checks"]}
    assert [pk for pk, failed in outcome.items() if failed] == [check.pk]
    assert len(outcome) > 1
    said = text_of(browse(consultant).get(page))
    assert "failed , not accepted" in said or "failed, not accepted" in said
    field_checks.accept(check, "seen", consultant)
    said = text_of(browse(consultant).get(page))
    assert "not accepted" not in said
    assert "accepted" in said


def test_the_campaign_page_names_the_zones_of_an_indication(judged: House, consultant: m.User, browse: Browse) -> None:
    zero(judged, 2, 0.02)
    again(judged)
    page = browse(consultant).get(campaign_url(judged.campaign))
    assert page.context["indication"].startswith(f"{judged.high.name}")
    assert ": The zero check of meter A" in page.context["indication"]


def test_the_zone_page_counts_them_and_says_it_beside_each(judged: House, consultant: m.User, browse: Browse) -> None:
    zero(judged, 2, 0.02)
    again(judged)
    text = text_of(browse(consultant).get(zone_url(judged.campaign, judged.high)))
    assert "1 of 1 result rests on a field check that failed, and is an indication only until a person accepts" in text
    assert "; rests on a failed check" in text
    assert "An indication only: The zero check of meter A on 2026-09-15 11:00 failed." in text


def test_the_report_says_it_and_keeps_the_reason(judged: House, consultant: m.User) -> None:
    check = zero(judged, 2, 0.02)
    again(judged)
    content = freeze(judged.campaign)
    assert content.meters == (
        "meter A: 1 of 3 field checks failed.",
        "meter A: from the check of 2026-09-15 08:00 to the check of 2026-09-15 11:00 the zero moved by 0.0200 ppm, "
        "more than 0.000826 ppm: that is 2 · √(d² + r²), where d = 0.0000625 ppm is the drift stated for its type over "
        "this time, and r = 0.000408 ppm how well the two checks are known (rounding, reference).",
        "meter A: from the check of 2026-09-15 11:00 to the check of 2026-09-15 16:00 the zero moved by 0.0200 ppm, "
        "more than 0.000843 ppm: that is 2 · √(d² + r²), where d = 0.000104 ppm is the drift stated for its type over "
        "this time, and r = 0.000408 ppm how well the two checks are known (rounding, reference).",
        "2 of 2 results rest on a field check that failed, and are an indication only until a person accepts it.",
    )
    assert [c.failed for c in content.instruments[0].channels[0].checks] == [False, True, False]
    assert {result.evidence for result in content.results} == {"rests on a failed check"}
    field_checks.accept(check, "the bag was not clean", consultant)
    again(judged)
    accepted = freeze(judged.campaign)
    assert "that a person accepted" in accepted.meters[-1]
    assert accepted.instruments[0].channels[0].checks[1].accepted.endswith(": the bag was not clean")


def test_a_report_of_the_format_before_is_read_and_says_nothing_of_it(judged: House) -> None:
    """What was not kept is None or empty; the rest is as it was signed."""
    signed = signed_content(freeze(judged.campaign))
    before = to_store(signed) | {"format": 4}
    del before["meters"]
    for result in [r for f in findings_in(before) for r in (f["result"], *f["others"], *f["beside"]) if r]:
        del result["evidence"]
    for channel in [channel for instrument in before["instruments"] for channel in instrument["channels"]]:
        del channel["contradictions"]
        for check in channel["checks"]:
            del check["failed"], check["accepted"]
    read = from_store(before)
    assert [c.failed for c in read.instruments[0].channels[0].checks] == [None, None]
    assert [replace(r, evidence="") for r in signed.results] == list(read.results)


def findings_in(stored: dict[str, Any]) -> list[dict[str, Any]]:
    zones = [zone for building in stored["buildings"] for floor in building["floors"] for zone in floor["zones"]]
    return [finding for zone in zones for finding in zone["findings"]]


@pytest.mark.parametrize(
    ("evidence", "said"),
    [
        ([], []),
        (["", ""], []),
        (["check_failed", ""], ["1 of 2 results rests on a field check that failed, and is an indication only until"]),
        (["type_data_only"] * 2, ["2 of 2 results rest on what the type of the instrument promises"]),
        (
            ["check_accepted", "check_failed"],
            ["1 of 2 results rests on a field check that failed,", "1 of 2 results rests"],
        ),
    ],
)
def test_sentences_of_many(evidence: list[str], said: list[str]) -> None:
    told = list(sentences(evidence))
    assert len(told) == len(said)
    assert all(words.startswith(start) for words, start in zip(told, said, strict=True))
