"""A report is not released while a question about a clock is open, unless a person says why not; then it is printed."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from campaigns import models as m
from readings.models import ClockLag, ClockQuestionLeft, Problem, Upload
from readings.services.clock_questions import leave_open, open_questions, settle
from readings.services.clock_review import CLOCK
from reports.content.upgrades import upgraded
from reports.pdf import render
from reports.services.freeze import freeze
from reports.services.release import NotReleased, prepare, sign_and_release
from tests import factories as make
from tests.reports.measured import House, house, work
from tests.reports.pages import Browse, text_of
from tests.worlds import World

ASKED = "The meter's clock looks 61 min slow; 6 of 6 bursts then fall on their deployments."
WHY = "Its case was seen in the attic all day."

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def asked(measured: House) -> House:
    Upload.objects.filter(pk=measured.upload.pk).update(state=Upload.State.ATTENTION)
    Problem.objects.create(upload=measured.upload, line=0, code=CLOCK, message=ASKED)
    return measured


def lag(measured: House, **said: object) -> ClockLag:
    row: ClockLag = ClockLag.objects.create(
        **{"campaign": measured.campaign, "instrument": measured.instrument, "parameter": "co2", "day": "2026-09-15",
           "lag_min": 60, "against": "meter B and meter C", "confidence": 0.6} | said
    )  # fmt: skip
    row.refresh_from_db()
    return row


def blocking(measured: House) -> list[str]:
    return [item.code for item in prepare(measured.campaign).blocking]


def test_nothing_is_asked_of_a_clock_in_order(measured: House) -> None:
    assert (open_questions(measured.campaign), blocking(measured)) == ([], [])


def test_an_open_question_is_in_the_way(asked: House, consultant: m.User) -> None:
    assert blocking(asked) == ["clock-open"]
    with pytest.raises(NotReleased, match="A question about a clock is open"):
        sign_and_release(asked.campaign, consultant)


def test_with_a_reason_it_is_released_and_printed(asked: House, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant)
    url = reverse("report", args=[asked.campaign.key])
    assert ASKED in text_of(page.get(url))
    page.post(reverse("report-clock", args=[asked.campaign.key]), {"instrument": asked.instrument.key, "reason": WHY})
    left = ClockQuestionLeft.objects.get()
    assert (left.question, left.reason, left.by) == (ASKED, WHY, consultant)
    assert blocking(asked) == []
    report = sign_and_release(asked.campaign, consultant)
    (said,) = report.record.clock_questions
    assert (said.instrument, said.serial, said.question, said.reason) == ("meter A", "TST-0001", ASKED, WHY)
    assert said.by in (str(consultant), consultant.get_full_name())
    shown = text_of(page.get(reverse("released-report", args=[report.key])))
    assert ASKED in shown
    assert WHY in shown
    assert "no clock check" in shown
    assert render(report.record).startswith(b"%PDF")


@pytest.mark.parametrize("reason", ["", "   "])
def test_no_reason_is_none(asked: House, consultant: m.User, browse: Browse, reason: str) -> None:
    url = reverse("report-clock", args=[asked.campaign.key])
    browse(consultant).post(url, {"instrument": asked.instrument.key, "reason": reason})
    assert not ClockQuestionLeft.objects.exists()
    with pytest.raises(ValidationError):
        leave_open(asked.campaign, asked.instrument, reason, consultant)


def test_another_question_is_asked_anew(asked: House, consultant: m.User) -> None:
    leave_open(asked.campaign, asked.instrument, WHY, consultant)
    lag(asked)
    assert blocking(asked) == ["clock-open"]


def test_where_nothing_is_asked_nothing_is_left_open(measured: House, consultant: m.User) -> None:
    with pytest.raises(ValidationError, match="Nothing is asked"):
        leave_open(measured.campaign, measured.instrument, WHY, consultant)


def test_a_lag_that_is_settled_is_no_question_and_is_printed(measured: House, consultant: m.User) -> None:
    row = lag(measured)
    assert row.words == (
        "2026-09-15: the log of meter A runs 60 min ahead of that of meter B and meter C, by where carbon dioxide "
        "rises and falls."
    )
    assert blocking(measured) == ["clock-open"]
    settle(row, "The attic had its lesson an hour later.", consultant)
    work()
    assert blocking(measured) == []
    assert [said.reason for said in freeze(measured.campaign).clock_questions] == [
        "The attic had its lesson an hour later."
    ]


def test_settling_needs_a_reason(measured: House, consultant: m.User) -> None:
    with pytest.raises(ValidationError, match="Say why it is not the clock"):
        settle(lag(measured), " ", consultant)
    assert open_questions(measured.campaign)


def test_a_question_of_another_year_is_not_in_the_way(measured: House) -> None:
    other = Upload.objects.create(
        campaign=make.CampaignFactory(site=measured.campaign.site), instrument=measured.instrument, size=1,
        filename="old.csv", sha256="c" * 64, state=Upload.State.ATTENTION, first_stamp_ms=0, last_stamp_ms=1,
    )  # fmt: skip
    Problem.objects.create(upload=other, line=0, code=CLOCK, message=ASKED)
    assert open_questions(measured.campaign) == []


def test_a_report_of_before_has_no_questions() -> None:
    assert upgraded({"format": 5}, newest=6) == {"format": 6, "clock_questions": []}
