"""A log that waits for an answer warns all the same, as it was understood so far."""

from __future__ import annotations

import pytest
from django.core import mail

from methods.logs.types import Layout
from readings.models import Alert, Upload
from readings.services.alerts.looking import ask_to_look
from readings.services.understanding import settle
from readings.services.upload_decisions import accept
from readings.services.withdrawing import withdraw
from tests.alerts.conftest import Round, work

pytestmark = pytest.mark.django_db
DEADLY: list[object] = [1200] * 60


class TestAQuestionIsOpen:
    def test_it_is_told_once_and_says_so(self, on_round: Round) -> None:
        upload = on_round.take(DEADLY)
        assert (upload.state, upload.stored) == (Upload.State.ATTENTION, 0)
        (alert,) = on_round.alerts()
        assert (alert.value, alert.unit, alert.standing) == (1200, "ppm", Alert.Standing.ASKED)
        (sent,) = mail.outbox
        assert "as the file was understood so far; a question about it is open" in sent.body
        ask_to_look([on_round.campaign.pk])
        work()
        assert [row.standing for row in on_round.alerts()] == [Alert.Standing.ASKED]
        assert len(mail.outbox) == 1

    def test_the_answer_that_confirms_it(self, on_round: Round) -> None:
        upload = on_round.take(DEADLY)
        assert upload.layout is not None
        settle(upload, Layout.from_json(upload.layout), on_round.consultant)
        work()
        upload.refresh_from_db()
        assert upload.stored == 60
        assert [row.standing for row in on_round.alerts()] == [Alert.Standing.STANDS]
        assert len(mail.outbox) == 1

    def test_the_answer_that_changes_the_reading(self, on_round: Round) -> None:
        """Said to be in ppb: the meter shows ppm, nothing is stored, and the level was not reached."""
        upload = on_round.take(DEADLY)
        assert upload.layout is not None
        said = dict(upload.layout)
        said["columns"] = [{**c, "unit": "ppb"} if c.get("unit") == "ppm" else c for c in said["columns"]]
        settle(upload, Layout.from_json(said), on_round.consultant)
        work()
        assert [row.standing for row in on_round.alerts()] == [Alert.Standing.GONE]

    def test_the_file_is_withdrawn(self, on_round: Round) -> None:
        upload = on_round.take(DEADLY)
        withdraw(upload, "span gas", on_round.consultant)
        work()
        assert [row.standing for row in on_round.alerts()] == [Alert.Standing.ASIDE]

    def test_values_above_what_the_meter_can_show(self, on_round: Round) -> None:
        spec = on_round.channel.spec
        spec.range_high = 500.0
        spec.save()
        upload = on_round.take([900] * 60)
        assert (upload.state, upload.stored) == (Upload.State.ATTENTION, 0)
        assert [row.standing for row in on_round.alerts()] == [Alert.Standing.ASKED]
        accept(upload, on_round.consultant)
        work()
        assert [row.standing for row in on_round.alerts()] == [Alert.Standing.STANDS]

    def test_a_harmless_one_is_only_asked_about(self, on_round: Round) -> None:
        on_round.level.value = 1500.0
        on_round.level.save()
        on_round.take(DEADLY)
        assert on_round.alerts() == []
