"""What people answer to an alert, and what its pages show to whom."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.db.models import ProtectedError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from campaigns.models import Job, User
from readings.models import Alert, AlertNotice
from readings.pages.alerts import of_campaign, state_of, unanswered
from readings.services.alerts import answers
from readings.services.alerts.typed import look_at_typed
from tests import factories as make
from tests.alerts.conftest import Round, work
from tests.campaigns.changes import told
from tests.campaigns.pages import text

pytestmark = pytest.mark.django_db
Browse = Callable[[User | None], Client]
PEAK: list[object] = [2, 2, 340, 412, 2]


@pytest.fixture
def alert(on_round: Round) -> Alert:
    on_round.take(PEAK)
    (raised,) = on_round.alerts()
    return raised


class TestAnswering:
    def test_acknowledged_noted_closed(self, alert: Alert, consultant: User, field_staff: User) -> None:
        answers.acknowledge(alert, field_staff)
        answers.note(alert, "Everybody left; the boiler is off.", consultant)
        closed = answers.close(alert, "The flue was mended; 2 ppm since.", consultant)
        assert (closed.acknowledged_by, closed.closed_by) == (field_staff, consultant)
        assert (closed.done, closed.reason) == (
            "Everybody left; the boiler is off.",
            "The flue was mended; 2 ppm since.",
        )
        assert state_of(closed) == "closed"

    def test_the_first_who_acknowledges_counts(self, alert: Alert, consultant: User, field_staff: User) -> None:
        first = answers.acknowledge(alert, field_staff)
        again = answers.acknowledge(alert, consultant)
        assert (again.acknowledged_by, again.acknowledged_at) == (field_staff, first.acknowledged_at)

    def test_closing_needs_what_was_done_and_a_reason(self, alert: Alert, consultant: User) -> None:
        with pytest.raises(ValidationError, match="what was done"):
            answers.close(alert, "over", consultant)
        answers.note(alert, "aired", consultant)
        with pytest.raises(ValidationError, match="why"):
            answers.close(alert, "  ", consultant)
        with pytest.raises(ValidationError, match="what was done"):
            answers.note(alert, " ", consultant)
        alert.refresh_from_db()
        assert alert.is_open

    def test_a_closed_one_is_answered_no_more(self, alert: Alert, consultant: User) -> None:
        answers.note(alert, "aired", consultant)
        answers.close(alert, "over", consultant)
        for answer in (answers.acknowledge, lambda a, by: answers.note(a, "more", by)):
            with pytest.raises(ValidationError, match="closed already"):
                answer(alert, consultant)

    @pytest.mark.history
    def test_all_of_it_is_in_the_history(self, alert: Alert, consultant: User) -> None:
        answers.note(alert, "aired", consultant)
        answers.note(alert, "aired, and the boiler is off", consultant)
        answers.close(alert, "over", consultant)
        changes = told(alert)
        assert ("changed", "what was done", "aired", "aired, and the boiler is off") in changes
        assert any(field == "acknowledged" for _, field, _, _ in changes)
        assert any(field == "why it is closed" and after == "over" for _, field, _, after in changes)

    def test_overdue(self, alert: Alert, consultant: User) -> None:
        late = timezone.now() + timedelta(minutes=61)
        assert (state_of(alert), state_of(alert, late)) == ("open", "overdue")
        assert state_of(answers.acknowledge(alert, consultant), late) == "acknowledged"

    def test_it_keeps_what_it_rests_on(self, alert: Alert) -> None:
        for kept in (alert.campaign, alert.level, alert.upload):
            assert kept is not None
            with pytest.raises(ProtectedError):
                kept.delete()

    def test_what_goes_on_after_it_was_closed_is_told_anew(self, on_round: Round, alert: Alert) -> None:
        answers.note(alert, "aired", on_round.consultant)
        answers.close(alert, "over", on_round.consultant)
        on_round.take([*PEAK, 3], name="quiet.csv")  # it holds the same readings, and one that is low
        assert len(on_round.alerts()) == 1
        on_round.take([*PEAK, 3, 500], name="longer.csv")
        first, second = on_round.alerts()
        assert (first.is_open, second.is_open, second.value) == (False, True, 500)
        assert len(mail.outbox) == 2


class TestAlertPages:
    def test_the_campaign_page_shows_it_first(self, on_round: Round, alert: Alert, browse: Browse) -> None:
        url = reverse("campaign", args=[on_round.campaign.key])
        page = text(browse(on_round.consultant).get(url))
        assert "Alert, open" in page
        assert "Carbon monoxide 412 ppm" in page

    def test_the_campaign_page_asks_again_when_one_is_acknowledged(
        self, on_round: Round, alert: Alert, browse: Browse
    ) -> None:
        browser = browse(on_round.consultant)
        url = browser.get(reverse("campaign", args=[on_round.campaign.key])).context["poll_url"]
        assert browser.get(url, headers={"HX-Request": "true"}).status_code == 204
        answers.acknowledge(alert, on_round.consultant)
        assert browser.get(url, headers={"HX-Request": "true"}).status_code == 200

    def test_the_list_of_work_shows_what_is_not_acknowledged_first(
        self, on_round: Round, alert: Alert, browse: Browse, stranger: User
    ) -> None:
        url = reverse("jobs")
        page = text(browse(on_round.consultant).get(url))
        assert page.index("Carbon monoxide 412 ppm: Harbour House") < page.index("Look for alerts")
        assert "412 ppm" not in text(browse(stranger).get(url))
        answers.acknowledge(alert, on_round.consultant)
        assert unanswered(on_round.consultant) == []

    def test_its_page_leads_to_the_line_of_the_log(self, on_round: Round, alert: Alert, browse: Browse) -> None:
        browser = browse(on_round.consultant)
        page = browser.get(reverse("alert", args=[alert.key]))
        assert alert.upload is not None
        url = reverse("upload-line", args=[alert.upload.key, 4])
        assert url in page.content.decode()
        assert "340" in text(browser.get(url))

    def test_field_staff_acknowledge_and_note_and_do_not_close(
        self, alert: Alert, field_staff: User, browse: Browse
    ) -> None:
        browser = browse(field_staff)
        assert "Close the alert" not in text(browser.get(reverse("alert", args=[alert.key])))
        browser.post(reverse("alert-acknowledge", args=[alert.key]))
        browser.post(reverse("alert-note", args=[alert.key]), {"done": "aired"})
        assert browser.post(reverse("alert-close", args=[alert.key]), {"reason": "over"}).status_code == 404
        alert.refresh_from_db()
        assert (alert.acknowledged_by, alert.done, alert.is_open) == (field_staff, "aired", True)

    def test_a_consultant_closes(self, on_round: Round, alert: Alert, browse: Browse) -> None:
        browser = browse(on_round.consultant)
        browser.post(reverse("alert-note", args=[alert.key]), {"done": "aired"})
        browser.post(reverse("alert-close", args=[alert.key]), {"reason": "over"})
        alert.refresh_from_db()
        assert alert.closed_by == on_round.consultant
        assert "Note it" not in text(browser.get(reverse("alert", args=[alert.key])))

    @pytest.mark.parametrize(("route", "field"), [("alert-note", "done"), ("alert-close", "reason")])
    def test_an_empty_answer_stands_at_its_field(
        self, on_round: Round, alert: Alert, browse: Browse, route: str, field: str
    ) -> None:
        answer = browse(on_round.consultant).post(reverse(route, args=[alert.key]), {})
        assert answer.status_code == 422
        assert "This field is required." in text(answer)

    def test_mails_are_sent_again_where_one_waits(self, on_round: Round, alert: Alert, browse: Browse) -> None:
        url = reverse("alert-tell", args=[alert.key])
        browse(on_round.consultant).post(url)
        assert not Job.objects.filter(kind="tell-alert", state=Job.State.QUEUED).exists()
        AlertNotice.objects.update(told_at=None, failed="the mail server is away")
        page = text(browse(on_round.consultant).get(reverse("alert", args=[alert.key])))
        assert "not told, the mail server is away" in page
        browse(on_round.consultant).post(url)
        work()
        assert len(mail.outbox) == 2

    def test_open_ones_come_first(self, on_round: Round, alert: Alert) -> None:
        (typed,) = look_at_typed(
            on_round.campaign, "co", 600, "ppm", at=make.START - timedelta(days=1), by=on_round.consultant
        )
        assert [line.key for line in of_campaign(on_round.campaign)] == [str(alert.key), str(typed.key)]
        answers.note(alert, "aired", on_round.consultant)
        answers.close(alert, "over", on_round.consultant)
        assert [line.state for line in of_campaign(on_round.campaign)] == ["open", "closed"]


class TestTyped:
    def look(self, on_round: Round, value: float, **more: Any) -> list[Alert]:
        said: dict[str, Any] = {"at": make.START, "by": on_round.consultant} | more
        return look_at_typed(on_round.campaign, "co", value, said.pop("unit", "ppm"), **said)

    def test_a_value_that_somebody_saw(self, on_round: Round) -> None:
        (raised,) = self.look(on_round, 310)
        work()
        assert (raised.value, raised.basis, raised.typed_by) == (310, "typed", on_round.consultant)
        assert len(mail.outbox) == 1

    def test_below_the_level(self, on_round: Round) -> None:
        assert self.look(on_round, 300) == []

    def test_the_same_value_twice_is_one(self, on_round: Round) -> None:
        self.look(on_round, 310)
        assert self.look(on_round, 310) == []
        assert len(self.look(on_round, 310, at=make.START + timedelta(minutes=5))) == 1

    def test_over_range(self, on_round: Round) -> None:
        (raised,) = self.look(on_round, 100, over_range=True)
        assert raised.is_at_least

    def test_in_another_unit(self, on_round: Round) -> None:
        """350 mg/m³ of CO at 25 °C are 305.7 ppm; 340 are 297.0 (24.465 / 28.010)."""
        (raised,) = self.look(on_round, 350, unit="mg/m³")
        assert raised.value == pytest.approx(305.7, abs=0.1)
        assert self.look(on_round, 340, unit="mg/m³") == []
        assert self.look(on_round, 340, unit="Bq/m³") == []

    def test_a_later_look_at_logs_leaves_it_alone(self, on_round: Round) -> None:
        (raised,) = self.look(on_round, 310)
        on_round.take([2, 2, 2])
        raised.refresh_from_db()
        assert raised.standing == Alert.Standing.STANDS
