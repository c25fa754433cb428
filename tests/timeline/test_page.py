"""The page: what it shows to whom, and what its forms do."""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import Campaign, ClockCheck, Deployment, Instrument, PlannedPoint, SamplingPoint, User
from methods.quantities.moments import stamp_ms, utc_ms
from readings.models import TimelineStep
from tests import factories as make
from tests.api.making import channel_of, store, upload_to
from tests.campaigns.pages import Browse, text

START = make.START
NINE = datetime(2026, 9, 15, 9, 0)  # noqa: DTZ001 - the logger's own clock, which shows Lisbon time: 08:00 UTC
MINUTE = timedelta(minutes=1)


@pytest.fixture
def field(browse: Browse, field_staff: User) -> Client:
    return browse(field_staff)


@pytest.fixture
def log(stay: Deployment) -> None:
    """From 08:50 to 11:10 every minute, a pause, and ten minutes from 12:00: 10 + 10 + 10 readings outside."""
    store(stay, [0.02] * 140, first=NINE - 10 * MINUTE, every_s=60)
    store(stay, [0.03] * 10, first=NINE + 180 * MINUTE, every_s=60)


def page(client: Client, campaign: Campaign, query: str = "") -> Any:
    return client.get(reverse("timeline", args=[campaign.key]) + query)


def drawing(answer: Any) -> dict[str, Any]:
    found = re.search(r'<script id="timeline-data" type="application/json">(.*?)</script>', answer.content.decode())
    assert found
    data: dict[str, Any] = json.loads(found[1])
    return data


def do(client: Client, deed: str, row: Deployment, /, **data: Any) -> Any:
    url = reverse(f"timeline-{deed}", args=[row.campaign.key, row.instrument.key])
    return client.post(url, data, follow=True)


def seen(row: Deployment) -> str:
    return f"{row.starts_at.isoformat()}|{row.ends_at.isoformat() if row.ends_at else ''}"


def times(row: Deployment) -> tuple[datetime, datetime | None]:
    row.refresh_from_db()
    return row.starts_at, row.ends_at


@pytest.mark.usefixtures("log")
def test_bursts_deployments_and_readings_outside(field: Client, campaign: Campaign, stay: Deployment) -> None:
    answer = page(field, campaign)
    assert answer.status_code == 200
    told = text(answer)
    assert "Europe/Lisbon, UTC+1" in told  # summer time there (IANA time zone database)
    context = answer.context
    assert [(b["start"], b["end"], b["count"], b["outside"]) for b in context["bursts"]] == [
        ("2026-09-15 08:50", "2026-09-15 11:10", 140, 20),
        ("2026-09-15 12:00", "2026-09-15 12:10", 10, 10),
    ]
    assert [(s["start"], s["end"], s["count"]) for s in context["outside"]] == [
        ("2026-09-15 08:50", "2026-09-15 09:00", 10),
        ("2026-09-15 11:00", "2026-09-15 11:10", 10),
        ("2026-09-15 12:00", "2026-09-15 12:10", 10),
    ]
    assert [(d["row"], d["when"], d["count"]) for d in context["deployments"]] == [
        (stay, ("2026-09-15 09:00", "2026-09-15 11:00"), 120)
    ]
    data = drawing(answer)
    assert data["bands"][0]["start"] == utc_ms(START)
    assert data["offsets"] == {"at": [], "ms": [3_600_000]}
    drawn = [row for row in data["trace"] if row]
    assert len(drawn) == 150
    assert data["trace"].count([]) == 1  # nothing is drawn over the pause
    assert {row[2] for row in drawn} == {0.02, 0.03}


@pytest.mark.usefixtures("log")
def test_a_part_in_more_detail(field: Client, campaign: Campaign, stay: Deployment) -> None:
    url = reverse("timeline-trace", args=[campaign.key, stay.instrument.key])
    low = utc_ms(START + 180 * MINUTE)
    answer = field.get(f"{url}?start={low}&end={low + 3 * 60_000}").json()
    assert answer["trace"] == [[low + k * 60_000, 0.03, 0.03] for k in range(3)]


@pytest.mark.usefixtures("log")
def test_a_clock_that_changes_and_one_in_doubt_are_said(field: Client, campaign: Campaign, stay: Deployment) -> None:
    # clocks in Portugal go back on 25 October 2026 at 01:00 UTC (Directive 2000/84/EC, from memory)
    stay.ends_at = datetime.fromisoformat("2026-10-26T00:00:00+00:00")
    stay.save()
    store(stay, [0.1] * 60, first=datetime(2026, 10, 25, 1, 30), every_s=60)  # noqa: DTZ001
    answer = page(field, campaign)
    assert "Europe/Lisbon, UTC+1, from 2026-10-25 01:00 UTC+0" in text(answer)
    assert answer.context["doubtful_count"] == 1
    assert drawing(answer)["doubtful"][0][2] == 30  # 01:30 to 02:00 happened twice


@pytest.mark.usefixtures("log")
def test_moving_undoing_and_redoing_by_the_forms(field: Client, campaign: Campaign, stay: Deployment) -> None:
    form = page(field, campaign, f"?instrument={stay.instrument.key}&deployment={stay.key}").context["forms"]["move"]
    given = {"deployment": stay.key, "seen": form["seen"].value(), "parameter": "formaldehyde"}
    answer = do(field, "move", stay, **given, starts_at="2026-09-15T08:55", ends_at="2026-09-15T11:00")
    assert times(stay)[0] == START - 5 * MINUTE
    assert "Ash, P1: 2026-09-15 09:00 to 2026-09-15 11:00 is now 2026-09-15 08:55" in text(answer)
    assert answer.context["deployments"][0]["count"] == 125
    step = TimelineStep.objects.get()
    answer = do(field, "undo", stay, step=step.key)
    assert times(stay)[0] == START
    assert "Taken back: Ash, P1" in text(answer)
    assert answer.context["step_to_undo"] is None
    answer = do(field, "redo", stay, step=step.key)
    assert times(stay)[0] == START - 5 * MINUTE
    assert "Done again: Ash, P1" in text(answer)


def test_a_time_with_its_offset_is_taken_as_the_script_sends_it(field: Client, stay: Deployment) -> None:
    given = {"deployment": stay.key, "seen": seen(stay), "starts_at": "2026-09-15T08:03:10.000Z"}
    do(field, "move", stay, **given, ends_at=seen(stay).split("|")[1])
    assert times(stay) == (START + timedelta(minutes=3, seconds=10), START + timedelta(hours=2))


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"starts_at": "2026-09-15T12:00"}, "A deployment ends after it starts."),
        ({"starts_at": "2026-09-15T08:30"}, "This instrument is at another point at that time."),
        ({"starts_at": "soon"}, "Enter a valid date/time."),
        ({"seen": "2026-09-15T07:00:00+00:00|"}, "changed since you looked at it"),
        ({"seen": "yesterday"}, "It cannot be told what was seen"),
        ({"deployment": "0b0c7c7e-4f57-4d3c-9d4b-2f1f5a3f7c11"}, "It is no longer there"),
    ],
)
def test_what_is_refused_is_said_and_changes_nothing(
    field: Client, campaign: Campaign, stay: Deployment, birch: SamplingPoint, given: dict[str, str], told: str
) -> None:
    make.DeploymentFactory(
        campaign=campaign, instrument=stay.instrument, point=birch, starts_at=START - 60 * MINUTE, ends_at=START
    )
    before = times(stay)
    usual = {"deployment": stay.key, "seen": seen(stay), "starts_at": "2026-09-15T09:00", "ends_at": "2026-09-15T11:00"}
    answer = do(field, "move", stay, **usual | given)
    assert "Nothing was changed." in text(answer)
    assert told in text(answer)
    assert times(stay) == before
    assert not TimelineStep.objects.exists()


def test_split_merge_and_remove_by_the_forms(
    field: Client, campaign: Campaign, stay: Deployment, browse: Browse, consultant: User
) -> None:
    do(field, "split", stay, deployment=stay.key, at="2026-09-15T10:00", point="")
    second = Deployment.objects.exclude(pk=stay.pk).get()
    chosen = page(field, campaign, f"?instrument={stay.instrument.key}&deployment={second.key}")
    assert [other["row"] for other in chosen.context["neighbours"]] == [stay]
    do(field, "merge", stay, deployment=second.key, second=stay.key)
    assert [d.pk for d in Deployment.objects.all()] == [stay.pk]
    assert "Remove it" not in text(page(field, campaign, f"?instrument={stay.instrument.key}&deployment={stay.key}"))
    assert do(field, "remove", stay, deployment=stay.key).status_code == 404
    assert Deployment.objects.exists()
    planner = browse(consultant)
    assert "Remove it" in text(page(planner, campaign, f"?instrument={stay.instrument.key}&deployment={stay.key}"))
    do(planner, "remove", stay, deployment=stay.key)
    assert not Deployment.objects.exists()
    assert list(TimelineStep.objects.values_list("kind", flat=True)) == ["remove", "merge", "split"]


@pytest.mark.usefixtures("log")
def test_a_burst_becomes_a_deployment_at_a_planned_point(
    field: Client, campaign: Campaign, stay: Deployment, ash: SamplingPoint, birch: SamplingPoint
) -> None:
    for position, point in enumerate((ash, birch)):
        PlannedPoint.objects.create(campaign=campaign, point=point, position=position)
    second = page(field, campaign).context["bursts"][1]
    form = field.get(second["url"].partition("#")[0]).context["forms"]["create"]
    assert form["point"].field.choices[1] == ("Planned, not measured yet", [(birch.key, "Birch, P1")])
    given = {"point": birch.key, "starts_at": "2026-09-15T12:00", "ends_at": "2026-09-15T12:10"}
    assert 'value="2026-09-15T12:00"' in str(form["starts_at"])
    assert 'value="2026-09-15T12:10"' in str(form["ends_at"])
    answer = do(field, "create", stay, **given)
    made = Deployment.objects.get(point=birch)
    assert (made.starts_at, made.ends_at) == (START + 180 * MINUTE, START + 190 * MINUTE)
    assert answer.context["deployments"][1]["count"] == 10


def test_visits_are_proposed_in_the_order_of_the_plan_and_taken_by_hand(
    field: Client, campaign: Campaign, meter: Instrument, ash: SamplingPoint, birch: SamplingPoint
) -> None:
    PlannedPoint.objects.create(campaign=campaign, point=ash, position=2)
    PlannedPoint.objects.create(campaign=campaign, point=birch, position=1)
    upload = upload_to(campaign, meter, first_stamp_ms=stamp_ms(NINE), last_stamp_ms=stamp_ms(NINE + 60 * MINUTE))
    noise = np.random.default_rng(20260915).normal(0, 0.001, 360)
    levels = np.concatenate((np.full(180, 0.02), np.full(180, 0.06))) + noise
    stay = Deployment(campaign=campaign, instrument=meter)
    store(stay, levels.tolist(), first=NINE, upload=upload)
    answer = page(field, campaign)
    rows = answer.context["proposed"]
    assert [(r["visit"].point, *r["when"], r["visit"].weak) for r in rows] == [
        (birch, "2026-09-15 09:00", "2026-09-15 09:30", False),
        (ash, "2026-09-15 09:30", "2026-09-15 10:00", False),
    ]
    assert rows[0]["visit"].strength == pytest.approx(40, rel=0.15)  # 0.04 over a noise of 0.001
    assert [p[2:] for p in drawing(answer)["proposals"]] == [["Birch, P1", False], ["Ash, P1", False]]
    assert not Deployment.objects.exists()  # proposed, never applied

    data: dict[str, Any] = {"take": ["1"]}
    for row in rows:
        data |= {
            f"point-{row['n']}": row["visit"].point.key,
            f"start-{row['n']}": row["iso"][0],
            f"end-{row['n']}": row["iso"][1],
        }
    do(field, "accept", stay, **data)
    assert [(d.point, d.starts_at) for d in Deployment.objects.all()] == [(ash, START + 30 * MINUTE)]
    assert not page(field, campaign).context["proposed"]  # somebody is at work: only when asked for
    again = page(field, campaign, "?visits=1").context["proposed"]
    assert [(r["visit"].point, *r["when"]) for r in again] == [(birch, "2026-09-15 09:00", "2026-09-15 09:30")]
    assert "too few for 1 visits" not in text(page(field, campaign, "?visits=1"))
    data["take"] = ["0", "1"]
    assert "at another point at that time" in text(do(field, "accept", stay, **data))
    assert Deployment.objects.count() == 1


@pytest.mark.usefixtures("log")
def test_who_may_look_and_who_may_not(
    browse: Browse, campaign: Campaign, stay: Deployment, consultant: User, client_person: User, stranger: User
) -> None:
    assert page(browse(consultant), campaign).status_code == 200
    foreign = make.InstrumentFactory()
    assert page(browse(consultant), campaign, f"?instrument={foreign.key}").status_code == 404
    given = {"deployment": stay.key, "seen": seen(stay), "starts_at": "2026-09-15T09:30", "ends_at": ""}
    for person in (client_person, stranger):
        assert page(browse(person), campaign).status_code == 404
        for deed in ("move", "remove"):
            url = reverse(f"timeline-{deed}", args=[campaign.key, stay.instrument.key])
            assert browse(person).post(url, given).status_code == 404
    assert times(stay) == (START, START + timedelta(hours=2))


def test_another_campaign_is_shown_and_not_touched(
    field: Client, campaign: Campaign, stay: Deployment, birch: SamplingPoint, browse: Browse, consultant: User
) -> None:
    other = make.DeploymentFactory(
        campaign=make.CampaignFactory(site=campaign.site),
        instrument=stay.instrument, point=birch, starts_at=START + 120 * MINUTE, ends_at=START + 200 * MINUTE,
    )  # fmt: skip
    store(stay, [0.02] * 200, first=NINE, every_s=60)
    answer = page(field, campaign)
    assert [d["row"] for d in answer.context["elsewhere"]] == [other]
    assert answer.context["outside"] == []  # those readings have their place
    url = reverse("timeline-remove", args=[campaign.key, stay.instrument.key])
    assert "It is no longer there" in text(browse(consultant).post(url, {"deployment": other.key}, follow=True))
    assert Deployment.objects.filter(pk=other.pk).exists()


def test_without_anything_it_says_what_to_do(field: Client, campaign: Campaign) -> None:
    assert "A timeline needs an instrument" in text(page(field, campaign))


def test_a_long_log_is_kept_ready_and_follows_the_clock(field: Client, campaign: Campaign, stay: Deployment) -> None:
    from readings.queries import logged_series as module

    values = np.round(np.random.default_rng(1).normal(0.05, 0.01, module.WORTH_KEEPING + 5), 3)
    store(stay, values.tolist(), first=NINE - 60 * MINUTE, every_s=1)
    channel = channel_of(stay)
    fresh, again = (module.logged(channel, campaign, [stay]) for _ in range(2))
    assert fresh.raw is not again.raw
    for name in ("utc_ms", "interval_ms", "doubtful"):
        assert (getattr(fresh, name) == getattr(again, name)).all()
    assert np.allclose(fresh.raw, again.raw, rtol=1e-6)
    at = START + timedelta(hours=1)
    ClockCheck.objects.create(instrument=stay.instrument, at=at, shown_ms=stamp_ms(NINE + 59 * MINUTE))  # a minute slow
    moved = module.logged(channel_of(stay), campaign, [stay])
    assert (moved.utc_ms - fresh.utc_ms == 60_000).all()
