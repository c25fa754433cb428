"""Who signs confirms edition and page of the limits that rest on memory, and the report says so."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any
from unittest.mock import patch

import pytest
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.urls import reverse

from campaigns import models as m
from campaigns.apps import load_limits
from campaigns.models import Limit, LimitCheck
from campaigns.services.limits_library import confirm, from_memory, synchronise
from methods.limits.loader import load
from reports.models import Report
from reports.services.freeze import freeze
from reports.services.release import sign_and_release
from tests.reports.measured import House, against, house
from tests.reports.pages import Browse, text_of
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
WHO, CANADA, LEED = "HCHO-WHO10-30M", "HCHO-HC-1H", "HCHO-LEED22"


def build(world: World) -> House:
    return against(house(world.site), WHO, CANADA, LEED)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def named(code: str = WHO) -> Limit:
    return Limit.objects.get(code=code, organisation__isnull=True)


def told(code: str = WHO, edition: str = "2010", page: str = "140") -> dict[str, str]:
    key = named(code).key
    return {f"edition_{key}": edition, f"page_{key}": page}


def ask(browse: Browse, person: m.User, campaign: m.Campaign, said: dict[str, str]) -> Any:
    return browse(person).post(reverse("report-editions", args=[campaign.key]), said, follow=True)


def test_it_is_asked_of_what_nobody_saw_and_of_nothing_else(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    assert [limit.code for limit in from_memory(measured.campaign)] == [WHO, LEED]
    page = browse(consultant).get(reverse("report", args=[measured.campaign.key]))
    assert {field.name for group in page.context["editions"].groups for field in group["fields"]} == {
        *told(WHO), *told(LEED),
    }  # fmt: skip


def test_what_was_confirmed_is_said_with_who_when_and_where(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    before = freeze(measured.campaign).criteria[0]
    assert (before.confidence, before.check) == (
        "seen in another page than the document", "Check against the document.",
    )  # fmt: skip
    assert "1 limit confirmed." in text_of(ask(browse, consultant, measured.campaign, told() | told(LEED, "", "")))
    check = LimitCheck.objects.get()
    assert (check.limit.code, check.by, check.edition, check.page) == (WHO, consultant, "2010", "140")
    after, _, still = freeze(measured.campaign).criteria
    assert after.confidence == "confirmed in the document"
    assert after.check.startswith(f"Edition 2010, page 140: confirmed by {consultant} on ")
    assert str(check.at.year) in after.check
    assert still.check == "Check against the document."


def test_the_report_prints_it_and_the_heading_marks_only_the_others(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    ask(browse, consultant, measured.campaign, told())
    page = text_of(browse(consultant).get(reverse("report", args=[measured.campaign.key])))
    assert "WHO (Europe), check" not in page
    assert "USGBC, check" in page
    report: Report = sign_and_release(measured.campaign, consultant)
    text = text_of(browse(consultant).get(reverse("released-report", args=[report.key])))
    assert f"confirmed in the document. Edition 2010, page 140: confirmed by {consultant} on" in text


def test_the_page_of_a_zone_marks_only_what_nobody_has_confirmed(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    url = reverse("zone", args=[measured.campaign.key, measured.high.key])
    assert text_of(browse(consultant).get(url)).count("check against the document") == 2
    ask(browse, consultant, measured.campaign, told())
    assert text_of(browse(consultant).get(url)).count("check against the document") == 1


@pytest.mark.parametrize(("edition", "page", "field"), [("2010", "", "page"), ("", "140", "edition")])
def test_edition_and_page_are_told_together(
    measured: House, consultant: m.User, browse: Browse, edition: str, page: str, field: str
) -> None:
    refused = ask(browse, consultant, measured.campaign, told(edition=edition, page=page))
    assert refused.status_code == 422
    assert list(refused.context["editions"].errors) == [f"{field}_{named().key}"]
    assert not LimitCheck.objects.exists()


def test_of_another_limit_than_asked_nothing_is_taken(measured: House, consultant: m.User, browse: Browse) -> None:
    answer = ask(browse, consultant, measured.campaign, told(CANADA) | told("HCHO-NO"))
    assert "nothing is confirmed" in text_of(answer)
    assert not LimitCheck.objects.exists()


def test_a_stranger_does_not_confirm(measured: House, stranger: m.User, field_staff: m.User, browse: Browse) -> None:
    for person in (stranger, field_staff):
        assert ask(browse, person, measured.campaign, told()).status_code == 404
    assert not LimitCheck.objects.exists()


def test_on_its_own_page_a_limit_takes_edition_and_page_too(consultant: m.User, browse: Browse) -> None:
    url = reverse("limit-check", args=[named().key])
    assert "Nothing was noted" in text_of(browse(consultant).post(url, told(page=""), follow=True))
    said = text_of(browse(consultant).post(url, told(), follow=True))
    assert "in edition 2010, page 140" in said


@pytest.mark.parametrize(("changes", "stays"), [({"value": Decimal("0.09")}, False), ({"document": "Again"}, True)])
def test_a_row_whose_number_changes_is_confirmed_no_more(
    measured: House, consultant: m.User, changes: dict[str, Any], stays: bool
) -> None:
    confirm(named(), measured.campaign.site.organisation_id, consultant, edition="2010", page="140")
    changed = {**load(), WHO: replace(load()[WHO], **changes)}
    with patch("campaigns.services.limits_library.load", return_value=changed):
        synchronise()
    assert LimitCheck.objects.exists() is stays


@pytest.mark.parametrize(
    ("migration", "is_brought_in_line"),
    [("0003_probes", False), ("0006_edition_and_page", False), ("0009_time_of_use", True)],
)
def test_a_database_between_two_versions_is_left_alone(migration: str, is_brought_in_line: bool) -> None:
    apps = MigrationLoader(connection).project_state(("campaigns", migration)).apps
    with patch("campaigns.services.limits_library.synchronise") as synchronised:
        load_limits(apps=apps)
    assert synchronised.called is is_brought_in_line
