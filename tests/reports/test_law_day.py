"""Whether a limit is in force is asked of the last day of measuring, not of the day on which somebody looks."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from unittest.mock import patch
from zoneinfo import ZoneInfo

import pytest

from campaigns import models as m
from campaigns.models import limits as row
from methods.limits import model as library
from reports.services import law_day as asked
from reports.services.freeze import freeze
from reports.services.law_day import law_day
from reports.services.readiness import prepare
from tests import factories as make
from tests.reports.measured import house

LAST = make.START.date()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("first", "last", "in_force"),
    [
        (None, LAST, True), (None, LAST - timedelta(days=1), False), (LAST, None, True),
        (LAST + timedelta(days=1), None, False),
    ],
)  # fmt: skip
def test_the_law_of_the_last_day_of_measuring_counts(
    site: m.Site, monkeypatch: pytest.MonkeyPatch, first: date | None, last: date | None, in_force: bool
) -> None:
    found = house(site)
    limit = found.campaign.criteria.get().limit
    m.Limit.objects.filter(pk=limit.pk).update(valid_from=first, valid_to=last)
    whole = row.Limit.as_library

    def dated(self: m.Limit) -> library.LimitDefinition:
        return replace(whole(self), valid_from=first, valid_to=last)

    monkeypatch.setattr(row.Limit, "as_library", dated)
    assert freeze(found.campaign).criteria[0].in_force is in_force
    assert ("not-in-force" in {item.code for item in prepare(found.campaign).advisory}) is not in_force


@pytest.mark.parametrize(
    ("ends", "day"),
    [
        ([], date(2026, 9, 20)),
        ([datetime(2026, 9, 15, 10, tzinfo=UTC), datetime(2026, 9, 16, 23, tzinfo=UTC)], date(2026, 9, 17)),
        ([datetime(2026, 9, 15, 10, tzinfo=UTC), None], date(2026, 11, 30)),
        ([datetime(2027, 9, 15, 10, tzinfo=UTC)], date(2026, 11, 30)),
    ],
)
def test_the_last_day_is_told_by_the_clock_of_the_site(ends: list[datetime | None], day: date) -> None:
    campaign = SimpleNamespace(ends_on=date(2026, 9, 20), site=SimpleNamespace(zone_info=ZoneInfo("Europe/Berlin")))
    stays = [SimpleNamespace(ends_at=end) for end in ends]
    with patch.object(asked, "today", lambda: date(2026, 11, 30)):
        assert law_day(campaign, stays) == day  # type: ignore[arg-type]
