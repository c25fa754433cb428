"""Wherever a verdict stands that is only an indication, the same words stand beside it."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from pathlib import Path

import pandas as pd
import pytest
from django.urls import reverse

from campaigns import models as m
from campaigns.services import field_checks
from methods.wording.results import INDICATION
from methods.wording.summary import indications
from reports.content.changes import changes
from reports.content.stored import from_store, to_store
from reports.models import Report, Result
from reports.pdf import render
from reports.services.freeze import freeze
from reports.services.release import sign_and_release
from tests import factories as make
from tests.reports.measured import LOW, House, house, judge, measure
from tests.reports.pages import Browse, campaign_url, zone_url
from tests.reports.pages import text_of as read
from tests.reports.signing import signed_content
from tests.reports.test_pdf import text_of
from tests.worlds import World

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("world_of_file")]


def build(world: World) -> House:
    """One meter in two zones, a second room in the attic studio; a zero check after the first visit failed."""
    found = house(world.site)
    room, _ = m.Room.objects.get_or_create(zone=found.high, name="Attic box room")
    measure(found, make.PointFactory(room=room, name="shelf"), make.START + timedelta(hours=5), LOW, line=1000)
    m.FieldCheck.objects.create(
        channel=found.channel, kind="zero", at=make.START + timedelta(hours=2), observed=0.02, u_reference=0.0
    )
    judge(found.campaign)
    return found


@pytest.fixture
def unsure(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.mark.parametrize(
    ("count", "of", "said"),
    [(0, 3, ""), (1, 3, "1 of 3 an indication"), (1, 1, "an indication"), (3, 3, "each an indication")],
)
def test_of_many_verdicts_it_is_said_how_many_are_indications(count: int, of: int, said: str) -> None:
    assert indications(count, of) == said


def test_the_content_says_it_beside_each_result_count_room_and_sentence(unsure: House) -> None:
    content = freeze(unsure.campaign)
    attic = next(zone for zone in content.zones if zone.name == "Attic studio").findings[0]
    assert attic.result is not None
    assert attic.result.indication == INDICATION
    assert [r.indication for r in attic.others] == [_stored_word(unsure, r.point) for r in attic.others]
    assert attic.plain.endswith(" This is an indication only.")
    assert "above limit, an indication; " in attic.result.assumptions[-3]
    (criterion,) = content.criteria
    assert "An indication only in " in criterion.sentence
    assert "Attic studio" in criterion.sentence.split("An indication only")[1]
    assert [row.indication for row in criterion.tally if row.verdict == "above"] == [INDICATION]


def _stored_word(unsure: House, point: str) -> str:
    states = Result.objects.filter(point__name=point, criterion__campaign=unsure.campaign)
    (state,) = states.values_list("comparability", flat=True)
    return INDICATION if state == "indicative" else ""


def test_a_report_of_the_format_before_says_it_of_what_speaks_for_a_zone(unsure: House) -> None:
    signed = signed_content(freeze(unsure.campaign))
    before = to_store(signed) | {"format": 9}
    for row in [row for criterion in before["criteria"] for row in criterion["tally"]]:
        del row["indication"]
    zones = [zone for building in before["buildings"] for floor in building["floors"] for zone in floor["zones"]]
    for finding in [finding for zone in zones for finding in zone["findings"]]:
        for result in filter(None, (finding["result"], *finding["others"], *finding["beside"])):
            del result["indication"], result["accepted"], result["calibration"]
    old = from_store(before)
    assert [c.tally for c in old.criteria] == [c.tally for c in signed.criteria]
    told = [finding.result for zone in old.zones for finding in zone.findings if finding.result]
    assert told == [finding.result for zone in signed.zones for finding in zone.findings if finding.result]
    assert any(result.indication for result in told)


# --- pages ------------------------------------------------------------------------------------------------------------


def test_tiles_counts_and_rooms_of_the_campaign_say_it(unsure: House, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(campaign_url(unsure.campaign))
    assert page.context["tally"][0][3] == INDICATION
    cells = [cell for each in page.context["sections"] for floor in each["floors"] for cell in floor["zones"]]
    assert next(cell["beside"] for cell in cells if cell["name"] == "Attic studio") == INDICATION
    tile = page.content.decode().split('<span class="zone-name">Attic studio</span>')[1].split("</li>")[0]
    assert "above limit" in tile
    assert ", an indication" in tile
    assert page.context["ranking"][0][4]["note"].startswith("an indication, ")
    (first, *_) = browse(consultant).get(zone_url(unsure.campaign, unsure.high)).context["rooms"]
    assert first[2]["note"] == INDICATION


def released(unsure: House, consultant: m.User) -> Report:
    return sign_and_release(unsure.campaign, consultant)


def test_what_a_client_reads_says_it(unsure: House, consultant: m.User, browse: Browse) -> None:
    report = released(unsure, consultant)
    whole = browse(consultant).get(reverse("released-report", args=[report.key]))
    html = whole.content.decode()
    assert ', <span class="small">an indication</span></li>' in html
    tile = html.split('<span class="zone-name">Attic studio</span>')[1].split("</li>")[0]
    assert ", an indication" in tile
    zone = read(browse(consultant).get(reverse("released-zone", args=[report.key, unsure.high.key])))
    assert "This is an indication only." in zone
    assert "above limit, an indication; Attic box room" in zone
    listed = browse(consultant).get(reverse("released")).content.decode()
    assert 'above limit</span>, <span class="small">an indication</span>' in listed


def test_the_matrix_before_signing_says_it(unsure: House, consultant: m.User, browse: Browse) -> None:
    html = browse(consultant).get(reverse("report", args=[unsure.campaign.key])).content.decode()
    matrix = html.split('id="matrix-caption"')[1].split("</table>")[0]
    content = freeze(unsure.campaign)
    unsure_cells = sum(bool(f.result and f.result.indication) for z in content.zones for f in z.findings)
    assert matrix.count("an indication") == unsure_cells > 0


def test_the_pdf_says_it_on_its_first_page_in_the_matrix_and_beside_each_point(unsure: House, tmp_path: Path) -> None:
    content = signed_content(freeze(unsure.campaign))
    text = " ".join(text_of(render(content), tmp_path).split())
    first_page, rest = text.split("All zones against all limits", 1)
    matrix, rest = rest.split("The question", 1)
    findings = [finding for zone in content.zones for finding in zone.findings]
    own = [finding.result for finding in findings if finding.result and finding.result.indication]
    others = [r for finding in findings for r in finding.others if r.indication]
    assert first_page.count(INDICATION) >= 1 + len(own)
    assert matrix.count(INDICATION) == len(own) > 0
    assert rest.split("The limits")[0].count(INDICATION) >= len(own) + len(others)


def test_the_workbook_says_it(unsure: House, consultant: m.User, browse: Browse) -> None:
    answer = browse(consultant).get(reverse("results-workbook", args=[unsure.campaign.key]))
    book = pd.read_excel(io.BytesIO(b"".join(answer) if answer.streaming else answer.content), sheet_name=None)
    assert INDICATION in set(book["Findings"]["indication"])
    assert INDICATION in set(book["Results"]["indication"])


# --- a failed check that was accepted ---------------------------------------------------------------------------------


def test_the_reason_of_an_acceptance_is_printed_with_each_result_that_rests_on_it(
    unsure: House, consultant: m.User, browse: Browse, tmp_path: Path
) -> None:
    check = unsure.channel.field_checks.get(at=make.START + timedelta(hours=2))
    field_checks.accept(check, "the bag was not clean", consultant)
    judge(unsure.campaign)
    content = freeze(unsure.campaign)
    resting = [r for r in content.results if r.evidence == "rests on a failed check that a person accepted"]
    assert len(resting) > 1
    assert all(r.accepted.endswith(": the bag was not clean.") for r in resting)
    assert any("the zero check of 2026-09-15 11:00 failed; accepted by" in said for said in content.meters)
    report = sign_and_release(unsure.campaign, consultant)
    for zone in content.zones:
        own = [r for finding in zone.findings for r in finding.results if r.accepted]
        page = read(browse(consultant).get(reverse("released-zone", args=[report.key, zone.key])))
        assert page.count("the bag was not clean.") >= len(own)
    text = " ".join(text_of(render(report.record), tmp_path).split())
    pages = text.split("Zone by zone")[1].split("What was not measured")[0]
    others = [r.ref for zone in content.zones for f in zone.findings for r in f.others + f.beside if r.accepted]
    assert others
    assert all(re.search(rf"\b{ref}(, R\d+)*: The zero check of", pages) for ref in others)
    assert pages.count("the bag was not clean") >= 2


def test_a_revision_names_the_check_that_was_accepted_and_the_indication_that_was_lifted(
    unsure: House, consultant: m.User
) -> None:
    before = freeze(unsure.campaign)
    check = unsure.channel.field_checks.get(at=make.START + timedelta(hours=2))
    field_checks.accept(check, "the bag was not clean", consultant)
    judge(unsure.campaign)
    said = changes(before, freeze(unsure.campaign))
    (attic,) = [words for words in said if words.startswith("Attic studio: above limit, an indication, at ")]
    assert attic.endswith(" now. It is no longer an indication.")
    (meter,) = [words for words in said if words.startswith("meter A (")]
    assert "the zero check of formaldehyde on 2026-09-15 11:00 failed and was accepted by " in meter
    assert meter.endswith(": the bag was not clean.")
    assert "what is said of its channels" not in meter
    back = changes(freeze(unsure.campaign), before)
    assert any("the zero check of formaldehyde on 2026-09-15 11:00 failed and is no longer accepted" in w for w in back)


# --- a calibration that was overdue -----------------------------------------------------------------------------------


def test_an_overdue_calibration_is_said_of_the_meter_and_beside_each_result_that_rests_on_it(
    unsure: House, consultant: m.User, browse: Browse, tmp_path: Path
) -> None:
    assert not any(r.calibration for r in freeze(unsure.campaign).results)
    due = (make.START - timedelta(days=40)).date()
    unsure.channel.calibrations.update(date=due - timedelta(days=365), due=due)
    judge(unsure.campaign)
    content, words = freeze(unsure.campaign), f"calibration overdue since {due.isoformat()}"
    assert {r.calibration for r in content.results} == {words}
    count = len(content.results)
    assert content.meters[0] == f"meter A, formaldehyde: {words}; {count} of {count} results rest on it."
    inside = read(browse(consultant).get(zone_url(unsure.campaign, unsure.high)))
    assert f"meter A, formaldehyde: {words}; 2 of 2 results rest on it." in inside
    assert inside.count(f"; {words}") == 2
    report = sign_and_release(unsure.campaign, consultant)
    assert content.meters[0] in read(browse(consultant).get(reverse("released-report", args=[report.key])))
    page = read(browse(consultant).get(reverse("released-zone", args=[report.key, unsure.high.key])))
    assert page.lower().count(words) == len(
        [r for z in content.zones if z.name == "Attic studio" for r in z.findings[0].results]
    )
    text = " ".join(text_of(render(report.record), tmp_path).split())
    assert "formaldehyde: calibration overdue since" in text.split("All zones against all limits")[0]
    assert "calibration overdue" in text.split("Zone by zone")[1].split("What was not measured")[0]
