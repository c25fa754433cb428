"""Judging shared out among processes gives the rows that one process gives."""

from __future__ import annotations

import os
from datetime import timedelta
from typing import Any

import pytest
from django.conf import LazySettings

from campaigns import models as m
from campaigns.models import Deployment
from reports.models import Finding, Result
from reports.services import work_sharing as sharing
from reports.services.judging import Known
from reports.services.work_sharing import shares
from tests import factories as make
from tests.bench.house import LARGER, build, judge

CHANGING = ("id", "key", "created_at")


def rows(model: type[Any]) -> list[dict[str, Any]]:
    order = {Result: ("criterion_id", "deployment_id"), Finding: ("criterion_id", "zone_id")}[model]
    leave = (*CHANGING, "governing_id")
    return [{k: v for k, v in row.items() if k not in leave} for row in model.objects.order_by(*order).values()]


@pytest.mark.skipif(not hasattr(os, "sched_getaffinity"), reason="forks only where that is safe")
@pytest.mark.django_db(transaction=True)
def test_two_processes_find_what_one_finds(settings: LazySettings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sharing, "WORTH_SHARING", 0)
    there = build(LARGER)
    settings.PROCESSES = 1
    judge(there)
    alone = rows(Result), rows(Finding)
    Result.objects.all().delete()
    settings.PROCESSES = 2
    assert len(shares(Known.of(there.campaign).deployments, 0, 2)) == 2
    judge(there)
    assert (rows(Result), rows(Finding)) == alone
    assert len(alone[0]) == 2 * LARGER.rooms * 10  # two visits, ten limits


@pytest.fixture
def standing(site: m.Site) -> list[Deployment]:
    """Three instruments, of which two followed each other at a point."""
    campaign = make.CampaignFactory(site=site)
    points = [make.PointFactory(room__zone__floor__building__site=site) for _ in range(3)]
    instruments = [make.InstrumentFactory(organisation=site.organisation) for _ in range(3)]
    hour = timedelta(hours=1)

    def stood(instrument: int, point: int, start: int, hours: int = 1) -> Deployment:
        at = make.START + start * hour
        found: Deployment = make.DeploymentFactory(
            campaign=campaign, instrument=instruments[instrument], point=points[point], starts_at=at,
            ends_at=at + hours * hour,
        )  # fmt: skip
        return found

    return [stood(0, 0, 0), stood(1, 0, 1), stood(1, 1, 4), stood(2, 2, 0, hours=3)]


def parts_of(deployments: list[Deployment], hands: int) -> list[set[int]]:
    return [{d.pk for d in part} for part in shares(deployments, 0, hands)]


def test_stays_and_instruments_are_never_torn_apart(
    standing: list[Deployment], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sharing, "WORTH_SHARING", 0)
    first, second, third, alone = (d.pk for d in standing)
    assert sorted(parts_of(standing, 3), key=len) == [{alone}, {first, second, third}]
    assert parts_of(standing, 1) == [{first, second, third, alone}]


def test_little_is_not_shared(standing: list[Deployment]) -> None:
    assert len(parts_of(standing, 3)) == 1
