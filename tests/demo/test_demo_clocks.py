"""The clocks of the demo: what is asked, and which results rest on a clock in doubt."""

from __future__ import annotations

from readings.models import ClockLag
from readings.services.clock_questions import open_questions
from reports.models import Result
from tests.demo.conftest import Demo


def test_loggers_that_agree_are_not_called_apart(demo: Demo) -> None:
    assert [lag.words for lag in ClockLag.objects.all()] == []


def test_all_its_clocks_were_checked_so_nothing_is_an_indication_for_that(demo: Demo) -> None:
    assert open_questions(demo.campaign) == []
    codes = {reason.code for result in Result.objects.all() for reason in result.stated_reasons}
    assert codes
    assert not {code for code in codes if code.startswith("clock")}
