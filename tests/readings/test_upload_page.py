"""The page of one log: what was understood, what was wrong where, and where its readings lie."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from campaigns.models import Campaign, Instrument, Site, User
from readings.models import Upload
from tests import factories as make
from tests.readings.doing import a_log, hand_in, read
from tests.readings.pages import Browse, at, text

LOG = a_log([0.031, "oops", *[0.033] * 8], serial="FL-7001")


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def upload(campaign: Campaign, meter: Instrument) -> Upload:
    upload = hand_in(campaign, LOG, "monday.csv")
    read(upload)
    return upload


def test_who(upload: Upload, browse: Browse, consultant: User, field_staff: User) -> None:
    for person in (consultant, field_staff):
        assert browse(person).get(at("upload", upload)).status_code == 200


def test_who_not(upload: Upload, browse: Browse, stranger: User, client_person: User) -> None:
    for person in (stranger, client_person):
        assert browse(person).get(at("upload", upload)).status_code == 404
    assert browse(None).get(at("upload", upload)).status_code == 302


def test_the_facts(upload: Upload, browser: Client) -> None:
    facts = dict(browser.get(at("upload", upload)).context["facts"])
    assert facts["State"] == "read"
    assert facts["Instrument"] == "meter N"
    assert (facts["Lines with readings"], facts["Readings stored"]) == ("10", "9")
    assert facts["Problems"] == "1"
    assert facts["Stamps"] == "2026-09-15 09:00:00 to 2026-09-15 09:01:30, as the logger shows it"
    assert facts["Size"] == f"{len(LOG)} bytes"
    assert facts["SHA-256"] == upload.sha256


def test_before_it_is_read(campaign: Campaign, browser: Client) -> None:
    upload = hand_in(campaign, LOG, "waiting.csv")
    page = browser.get(at("upload", upload))
    assert dict(page.context["facts"])["State"] == "received"
    assert "waiting.csv" in text(page)
    assert page.context["layout"] is None
    assert "As it was understood" not in text(page)
    assert [line for _, line in page.context["first_lines"]] == LOG.splitlines()[:8]


def test_the_layout_in_words(upload: Upload, browser: Client) -> None:
    page = text(browser.get(at("upload", upload)))
    assert "readings from line 3 on; decimal sign “.”; stamps on the clock of the instrument" in page
    assert "<td>Formaldehyde in ppm</td>" in page
    assert "<td>date and time</td>" in page


def test_a_problem_leads_to_its_line(upload: Upload, browser: Client) -> None:
    page = browser.get(at("upload", upload))
    (problem,) = page.context["problems"]
    assert (problem.line, problem.column, problem.value) == (4, "formaldehyde [ppm]", "oops")
    assert f'<a href="{at("upload-line", upload, 4)}">4</a>' in text(page)


def test_markup_in_a_file_stays_text(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, a_log([0.1, "<img src=x onerror=alert(1)>"]), "<script>alert(1)</script>.csv", meter)
    read(upload)
    page = browser.get(at("upload", upload)).content.decode()
    assert "<img src=x" not in page
    assert "<script>alert" not in page
    assert "&lt;img src=x onerror=alert(1)&gt;" in page


def test_only_the_first_problems_are_listed_and_all_are_counted(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    upload = hand_in(campaign, a_log([0.1, 0.2] * 300 + ["oops"] * 250), "many.csv", meter)
    read(upload)
    page = browser.get(at("upload", upload))
    assert len(page.context["problems"]) == 200
    assert upload.problem_count == 251, "250 lines, and that there are so many"
    assert "251 in all, the first 200 shown" in text(page)
    of_the_file = [p.code for p in page.context["problems"] if p.line == 0]
    assert of_the_file == ["more_problems", "mostly_bad"], "these come before the lines"


class TestPlaces:
    """Where the readings lie, in the site's time."""

    @pytest.fixture
    def placed(self, campaign: Campaign, meter: Instrument) -> Upload:
        """20 lines, one a minute from 08:00 UTC: 10 in one room, 5 in another, 5 nowhere."""
        rooms = [make.RoomFactory.create(zone__floor__building__site=campaign.site, name=n) for n in ("Loom", "Weft")]
        for room, start, minutes in ((rooms[0], 0, 10), (rooms[1], 12, 5)):
            make.DeploymentFactory.create(
                campaign=campaign, instrument=meter, point=make.PointFactory.create(room=room, name="middle"),
                starts_at=make.START + timedelta(minutes=start),
                ends_at=make.START + timedelta(minutes=start + minutes),
            )  # fmt: skip
        upload = hand_in(campaign, a_log([0.05] * 20, every_s=60), "walk.csv", meter)
        read(upload)
        return upload

    def test_by_deployment(self, placed: Upload, browser: Client) -> None:
        page = browser.get(at("upload", placed))
        assert [(p["lines"], p["span"]) for p in page.context["places"]] == [
            (10, "2026-09-15 09:00 to 2026-09-15 09:09"),
            (5, "2026-09-15 09:12 to 2026-09-15 09:16"),
        ]
        told = text(page)
        assert "20 lines: 2 deployments, 5 lines outside every deployment" in told
        assert "(2026-09-15 09:10 to 2026-09-15 09:19)" in told
        assert "Loom" in told
        assert "Weft" in told

    def test_queries_do_not_grow_with_deployments(self, placed: Upload, browser: Client) -> None:
        def queries() -> int:
            with CaptureQueriesContext(connection) as seen:
                browser.get(at("upload", placed))
            return len(seen)

        few = queries()
        for minute in (10, 11, 17, 18, 19):
            make.DeploymentFactory.create(
                campaign=placed.campaign, instrument=placed.instrument,
                starts_at=make.START + timedelta(minutes=minute), ends_at=make.START + timedelta(minutes=minute + 1),
            )  # fmt: skip
        assert len(browser.get(at("upload", placed)).context["places"]) == 7
        assert queries() == few


class TestAnotherCampaign:
    """A memory is not tidy: it holds what the instrument stored for another campaign, too."""

    @pytest.fixture
    def elsewhere(self, site: Site, meter: Instrument) -> Campaign:
        other = make.CampaignFactory.create(site=site, name="Spring round")
        make.DeploymentFactory.create(
            campaign=other, instrument=meter, starts_at=make.START, ends_at=make.START + timedelta(seconds=15)
        )
        return other

    def test_its_lines_are_not_called_outside(
        self, elsewhere: Campaign, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = hand_in(campaign, a_log([0.1, 0.2, 0.3]), "both.csv", meter)
        read(upload)
        page = browser.get(at("upload", upload))
        (place,) = page.context["places"]
        assert (place["lines"], place["deployment"].campaign) == (2, elsewhere)
        assert page.context["placement"].unplaced == 1
        assert "Spring round" in text(page)
