"""Day or month: what was said of one file holds for the next only where it cannot be wrong."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from readings.models import Upload
from tests.layouts.files import AMBIGUOUS, a_log, say, stored
from tests.readings.doing import hand_in, read

MARCH = a_log("03/02/2026 09:00,0.041", "04/02/2026 09:00,0.042", "05/02/2026 09:00,0.043")
DAY_FIRST_SHOWN = a_log("13/02/2026 09:00,0.1", "14/02/2026 09:00,0.2")
MONTH_FIRST_SHOWN = a_log("02/13/2026 09:00,0.1", "02/14/2026 09:00,0.2")


@pytest.fixture(autouse=True)
def _kept(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    """Somebody said that the day comes first, for files of this shape."""
    first = hand_in(campaign, AMBIGUOUS, instrument=meter)
    read(first)
    say(browser, first, order="day_first", keep="on", name="hall meter")
    read(first)


def handed_in(campaign: Campaign, meter: Instrument, log: str, on: datetime) -> Upload:
    upload = hand_in(campaign, log, f"{on:%m%d}.csv", meter)
    Upload.objects.filter(pk=upload.pk).update(created_at=on)
    return upload


def test_where_the_other_order_would_be_the_future_it_holds(campaign: Campaign, meter: Instrument) -> None:
    upload = handed_in(campaign, meter, MARCH, datetime(2026, 2, 6, tzinfo=UTC))
    assert read(upload).state == Job.State.DONE
    assert stored(upload)[-1][0] == "2026-02-05 09:00:00"


def test_where_it_would_be_the_future_itself_it_is_asked(campaign: Campaign, meter: Instrument) -> None:
    log = a_log("02/03/2026 09:00,0.041", "02/04/2026 09:00,0.042")
    assert read(handed_in(campaign, meter, log, datetime(2026, 2, 4, 12, tzinfo=UTC))).code == "day_or_month"


def test_months_later_either_may_be_right(campaign: Campaign, meter: Instrument) -> None:
    assert read(handed_in(campaign, meter, MARCH, datetime(2026, 11, 1, tzinfo=UTC))).code == "day_or_month"


def test_a_file_that_proves_it_answers_for_the_others(campaign: Campaign, meter: Instrument) -> None:
    read(hand_in(campaign, DAY_FIRST_SHOWN, "proof.csv", meter))
    upload = handed_in(campaign, meter, MARCH, datetime(2026, 11, 1, tzinfo=UTC))
    assert read(upload).state == Job.State.DONE
    assert stored(upload)[-1][0] == "2026-02-05 09:00:00"


def test_a_file_that_proves_another_order_ends_it(campaign: Campaign, meter: Instrument) -> None:
    assert read(hand_in(campaign, MONTH_FIRST_SHOWN, "proof.csv", meter)).state == Job.State.DONE
    assert read(handed_in(campaign, meter, MARCH, datetime(2026, 2, 6, tzinfo=UTC))).code == "day_or_month"


def test_files_that_prove_both_settle_nothing(campaign: Campaign, meter: Instrument) -> None:
    for name, log in (("a.csv", DAY_FIRST_SHOWN), ("b.csv", MONTH_FIRST_SHOWN)):
        read(hand_in(campaign, log, name, meter))
    assert read(handed_in(campaign, meter, MARCH, datetime(2026, 2, 6, tzinfo=UTC))).code == "day_or_month"
