"""Alerts in what is released: frozen, printed, open ones as open; and the cautions that name a level."""

from __future__ import annotations

import io
from collections.abc import Callable

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import User
from campaigns.services import alert_levels
from methods.wording.cautions import cautions, level_cautions
from methods.wording.report import CAUTIONS
from readings.models import Alert
from readings.services.alerts import answers
from readings.services.alerts.typed import look_at_typed
from reports.content.changes import changes
from reports.content.stored import from_store, to_store
from reports.content.upgrades import upgraded
from reports.pages.workbook import workbook
from reports.pdf import render
from reports.services.freeze import freeze
from reports.services.freezing.agreements import agreed_of
from reports.services.freezing.alerts import alerts_of
from reports.services.release import prepare, sign_and_release
from tests import factories as make
from tests.reports.measured import House, house, work
from tests.reports.pages import text_of
from tests.reports.signing import signed_content
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
Browse = Callable[[User | None], Client]
TEXT = "above 2 ppm as mean of 15 min"


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def alert(measured: House, consultant: User) -> Alert:
    alert_levels.choose(measured.campaign, "HCHO-STEL-2", consultant)
    work()
    (raised,) = look_at_typed(measured.campaign, "formaldehyde", 2.4, "ppm", at=make.START, by=consultant)
    work()
    return raised


class TestReportedAlerts:
    def test_none_without_alerts(self, measured: House) -> None:
        assert freeze(measured.campaign).alerts == ()

    def test_an_open_one(self, measured: House, alert: Alert, consultant: User) -> None:
        (told,) = freeze(measured.campaign).alerts
        assert (told.value, told.unit, told.said) == (2.4, "ppm", "2.40 ppm")
        assert (told.reached, told.is_open, told.acknowledged) == ("2026-09-15 09:00", True, "")
        assert [name.startswith(f"{consultant}, 20") for name in told.told] == [True]

    def test_a_closed_one(self, measured: House, alert: Alert, consultant: User) -> None:
        answers.note(alert, "Everybody left.", consultant)
        answers.close(alert, "The drawers were emptied.", consultant)
        (told,) = freeze(measured.campaign).alerts
        assert (told.done, told.reason, told.is_open) == ("Everybody left.", "The drawers were emptied.", False)
        assert told.closed.endswith(str(consultant))

    def test_it_is_read_again_as_it_was_stored(self, measured: House, alert: Alert) -> None:
        content = signed_content(freeze(measured.campaign))
        assert from_store(to_store(content)) == content

    def test_an_older_report_had_none(self) -> None:
        assert upgraded({"format": 7}, newest=8) == {"format": 8, "alerts": []}

    def test_what_was_done_since_is_a_difference(self, measured: House, alert: Alert, consultant: User) -> None:
        before = freeze(measured.campaign)
        answers.acknowledge(alert, consultant)
        assert any("alerts" in said for said in changes(before, freeze(measured.campaign)))


class TestRelease:
    def test_an_open_alert_is_named_and_stands_in_nobodys_way(self, measured: House, alert: Alert) -> None:
        found = prepare(measured.campaign)
        assert "alert-open" in [item.code for item in found.advisory]
        assert "alert-open" not in [item.code for item in found.blocking]

    def test_the_client_reads_it_in_the_released_report_and_nowhere_else(
        self, measured: House, alert: Alert, consultant: User, client_person: User, browse: Browse
    ) -> None:
        report = sign_and_release(measured.campaign, consultant, "C. Lintel")
        browser = browse(client_person)
        page = text_of(browser.get(reverse("released-report", args=[report.key])))
        assert "Formaldehyde 2.40 ppm" in page
        assert "Acknowledged: not yet" in page
        assert browser.get(reverse("alert", args=[alert.key])).status_code == 404
        assert browser.get(reverse("alerts", args=[measured.campaign.key])).status_code == 404

    def test_the_pdf_is_set_with_whatever_was_written(self, measured: House, alert: Alert, consultant: User) -> None:
        without = render(signed_content(freeze(measured.campaign)))
        answers.note(alert, '#panic("x") $ [ *', consultant)
        answers.close(alert, "`done` ] #let", consultant)
        assert len(render(signed_content(freeze(measured.campaign)))) != len(without)

    def test_the_workbook_has_a_sheet(self, measured: House, alert: Alert, consultant: User) -> None:
        answers.note(alert, "=1+1", consultant)
        campaign = measured.campaign
        made = workbook(campaign, [], [], agreed_of(campaign), alerts_of(campaign))
        book = openpyxl.load_workbook(io.BytesIO(made))
        head, row = book["Alerts"].iter_rows(values_only=True)
        told = dict(zip(head, row, strict=True))
        closed = f"closed ({campaign.site.time_zone})"
        assert (told["highest"], told[closed], told["what was done"]) == (2.4, "open", "'=1+1")


class TestCautions:
    def test_a_level_is_named_only_where_one_is_set(self) -> None:
        assert not any("level" in said for said in cautions(["formaldehyde", "co"]))
        said = cautions(["formaldehyde"], levels={"formaldehyde": [TEXT], "co": ["above 30 ppm"]})
        assert [s for s in said if "Alert level" in s] == [
            f"Alert level of this campaign for formaldehyde: {TEXT}. Once it is reached: leave, ventilate, and follow "
            "the local emergency rules."
        ]
        assert level_cautions({}) == []

    def test_no_caution_of_a_report_speaks_of_a_level_that_nobody_set(self) -> None:
        assert not any("level" in said for said in CAUTIONS)

    def test_the_report_names_it(self, measured: House, alert: Alert) -> None:
        assert any(TEXT in said for said in freeze(measured.campaign).cautions)

    @pytest.mark.parametrize("route", ["campaign", "plan", "deployment-add"])
    def test_pages_where_it_is_decided_name_it(
        self, measured: House, consultant: User, browse: Browse, route: str
    ) -> None:
        url = reverse(route, args=[measured.campaign.key])
        assert "Alert level" not in text_of(browse(consultant).get(url)).replace("Alert levels", "")
        alert_levels.choose(measured.campaign, "HCHO-STEL-2", consultant)
        assert TEXT in text_of(browse(consultant).get(url))

    def test_one_that_is_off_is_not_named(self, measured: House, alert: Alert) -> None:
        alert_levels.switch(alert.level, on=False)
        assert not any(TEXT in said for said in freeze(measured.campaign).cautions)
