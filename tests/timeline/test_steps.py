"""What is done on the timeline, taken back and done again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from auditlog.models import LogEntry
from django.db import IntegrityError, transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from campaigns.models import Campaign, Deployment, Instrument, SamplingPoint, User
from campaigns.signals import inputs_changed
from methods.placing import CannotEdit
from readings.models import TimelineStep
from readings.services import timeline
from readings.services.timeline import Who
from readings.services.timeline.touching import snapshot
from tests import factories as make
from tests.examples import examples

START = make.START
MINUTE = timedelta(minutes=1)


def at(minutes: float) -> datetime:
    return START + minutes * MINUTE


def standing(instrument: Instrument) -> dict[int, Any]:
    return {row.pk: snapshot(row) for row in Deployment.objects.filter(instrument=instrument)}


@pytest.mark.history
def test_an_edge_is_moved_taken_back_and_moved_again(who: Who, stay: Deployment) -> None:
    before = standing(who.instrument)
    step = timeline.move(who, stay, at(5), at(100), seen=(stay.starts_at, stay.ends_at))
    assert step is not None
    stay.refresh_from_db()
    assert (stay.starts_at, stay.ends_at) == (at(5), at(100))
    assert step.said == "Ash, P1: 2026-09-15 09:00 to 2026-09-15 11:00 is now 2026-09-15 09:05 to 2026-09-15 10:40."
    assert (step.by, step.kind) == (who.person, "move")
    after = standing(who.instrument)

    timeline.undo(who, step)
    assert standing(who.instrument) == before
    step.refresh_from_db()
    assert step.undone_by == who.person
    timeline.redo(who, TimelineStep.objects.get())
    assert standing(who.instrument) == after
    # each of the three is in the history of the deployment itself, and in that of the step
    assert LogEntry.objects.get_for_object(stay).filter(action=LogEntry.Action.UPDATE).count() == 3
    assert LogEntry.objects.get_for_object(step).count() == 3


def test_nothing_moved_is_no_step(who: Who, stay: Deployment) -> None:
    assert timeline.move(who, stay, stay.starts_at, stay.ends_at) is None
    assert not TimelineStep.objects.exists()


def test_a_split_keeps_the_first_and_merging_gives_one_again(who: Who, stay: Deployment, birch: SamplingPoint) -> None:
    timeline.split(who, stay, at(60))
    first, second = Deployment.objects.order_by("starts_at")
    assert (first.pk, first.ends_at, second.starts_at, second.ends_at) == (stay.pk, at(60), at(60), at(120))
    assert (second.point, second.notes) == (stay.point, "window shut")
    timeline.merge(who, second, first)
    assert [(d.pk, d.starts_at, d.ends_at, d.notes) for d in Deployment.objects.all()] == [
        (stay.pk, at(0), at(120), "window shut")
    ]
    timeline.split(who, stay, at(30), birch)
    assert [(d.point, d.notes) for d in Deployment.objects.order_by("starts_at")] == [
        (stay.point, "window shut"),
        (birch, ""),
    ]


@pytest.mark.history
def test_what_was_removed_comes_back_as_itself(who: Who, stay: Deployment) -> None:
    before, key = standing(who.instrument), stay.key
    step = timeline.remove(who, stay)
    assert not Deployment.objects.exists()
    timeline.undo(who, step)
    assert standing(who.instrument) == before
    assert Deployment.objects.get(pk=stay.pk).key == key
    kinds = list(
        LogEntry.objects.filter(object_pk=str(stay.pk), content_type__model="deployment")
        .values_list("action", flat=True)
        .order_by("id")
    )
    assert kinds == [LogEntry.Action.CREATE, LogEntry.Action.DELETE, LogEntry.Action.CREATE]


def test_merging_taken_back_brings_the_second_back(who: Who, stay: Deployment) -> None:
    later = make.DeploymentFactory(
        campaign=who.campaign,
        instrument=who.instrument,
        point=stay.point,
        starts_at=at(130),
        ends_at=None,
        notes="open",
    )
    before = standing(who.instrument)
    step = timeline.merge(who, stay, later)
    joined = Deployment.objects.get()
    assert (joined.pk, joined.ends_at, joined.notes) == (stay.pk, None, "window shut\nopen")
    timeline.undo(who, step)
    assert standing(who.instrument) == before


REFUSED: list[tuple[Callable[[Who, Deployment, Deployment], Any], str]] = [
    (lambda who, a, b: timeline.move(who, a, at(0), at(150)), "at another point at that time"),
    (lambda who, a, b: timeline.move(who, a, at(10), at(10)), "ends after it starts"),
    (lambda who, a, b: timeline.split(who, a, at(120)), "after its start and before its end"),
    (lambda who, a, b: timeline.merge(who, a, b), "Only deployments at the same point"),
    (lambda who, a, b: timeline.create(who, (b.point, at(100), at(125))), "at another point at that time"),
    (lambda who, a, b: timeline.accept(who, []), "Nothing was chosen"),
    (
        lambda who, a, b: timeline.accept(who, [(b.point, at(200), at(210)), (b.point, at(205), at(220))]),
        "at another point at that time",
    ),
    (lambda who, a, b: timeline.move(who, a, at(1), at(2), seen=(at(0), at(119))), "changed since you looked"),
]  # fmt: skip


@pytest.mark.parametrize(("deed", "told"), REFUSED)
def test_what_cannot_be_done_changes_nothing(
    who: Who, stay: Deployment, birch: SamplingPoint, deed: Callable[[Who, Deployment, Deployment], Any], told: str
) -> None:
    other = make.DeploymentFactory(
        campaign=who.campaign, instrument=who.instrument, point=birch, starts_at=at(120), ends_at=at(180)
    )
    before = standing(who.instrument)
    with pytest.raises(CannotEdit, match=told):
        deed(who, stay, other)
    assert standing(who.instrument) == before
    assert not TimelineStep.objects.exists()


def test_merging_over_another_point_is_refused(who: Who, stay: Deployment, birch: SamplingPoint) -> None:
    make_at = {"campaign": who.campaign, "instrument": who.instrument}
    make.DeploymentFactory(**make_at, point=birch, starts_at=at(120), ends_at=at(130))
    last = make.DeploymentFactory(**make_at, point=stay.point, starts_at=at(130), ends_at=at(140))
    with pytest.raises(CannotEdit, match="Between the two"):
        timeline.merge(who, stay, last)


def test_a_point_of_another_site_is_refused(who: Who, stay: Deployment) -> None:
    with pytest.raises(CannotEdit, match="another site"):
        timeline.split(who, stay, at(60), make.PointFactory())
    stay.refresh_from_db()
    assert stay.ends_at == at(120)


def test_the_database_keeps_one_place_where_the_model_did_not_look(
    who: Who, stay: Deployment, birch: SamplingPoint, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Deployment, "clash", lambda self: None)  # as if the other came between look and write
    with pytest.raises(CannotEdit, match="one place at a time"), transaction.atomic():
        timeline.accept(who, [(birch, at(200), at(210)), (birch, at(60), at(70))])
    assert [d.pk for d in Deployment.objects.all()] == [stay.pk]


def test_a_step_is_not_taken_back_over_another_change(who: Who, stay: Deployment) -> None:
    step = timeline.split(who, stay, at(60))
    second = Deployment.objects.exclude(pk=stay.pk).get()
    second.notes = "blinds down"
    second.save()
    before = standing(who.instrument)
    with pytest.raises(CannotEdit, match="“meter N at Ash, P1” has been changed in another way") as refused:
        timeline.undo(who, step)
    assert "cannot be taken back" in str(refused.value)
    assert standing(who.instrument) == before
    second.delete()
    with pytest.raises(CannotEdit, match="A deployment of this step has been changed"):
        timeline.undo(who, step)


def test_a_removal_is_not_taken_back_onto_another_deployment(who: Who, stay: Deployment, birch: SamplingPoint) -> None:
    step = timeline.remove(who, stay)
    new = make.DeploymentFactory(
        campaign=make.CampaignFactory(site=who.campaign.site), instrument=who.instrument, point=birch
    )
    with pytest.raises(CannotEdit, match="It is at Birch, P1 then"):
        timeline.undo(who, step)
    assert [d.pk for d in Deployment.objects.all()] == [new.pk]
    step.refresh_from_db()
    assert step.undone_at is None


def test_only_the_last_is_taken_back_and_new_steps_end_doing_again(who: Who, stay: Deployment) -> None:
    first = timeline.move(who, stay, at(1), at(120))
    second = timeline.move(who, stay, at(2), at(120))
    assert first
    assert second
    with pytest.raises(CannotEdit, match="Something else has been done"):
        timeline.undo(who, first)
    timeline.undo(who, second)
    timeline.undo(who, first)
    assert timeline.next_undone(who.campaign, who.instrument) == first
    with pytest.raises(CannotEdit, match="Something else has been done"):
        timeline.redo(who, second)
    timeline.redo(who, first)
    timeline.move(who, stay, at(3), at(120))
    assert timeline.next_undone(who.campaign, who.instrument) is None
    with pytest.raises(CannotEdit, match="Something else has been done"):
        timeline.redo(who, second)


def test_evaluation_is_asked_for_once_a_step(who: Who, stay: Deployment, birch: SamplingPoint) -> None:
    heard: list[list[int]] = []

    def hear(campaign_ids: list[int], **_: Any) -> None:
        heard.append(campaign_ids)

    inputs_changed.connect(hear)
    try:
        step = timeline.split(who, stay, at(60), birch)  # two rows
        timeline.undo(who, step)
        with pytest.raises(CannotEdit):
            timeline.accept(who, [(birch, at(200), at(210)), (birch, at(60), at(70))])
    finally:
        inputs_changed.disconnect(hear)
    assert heard == [[who.campaign.pk]] * 2


def test_constraints_of_a_step(who: Who) -> None:
    given = {"campaign": who.campaign, "instrument": who.instrument, "by": who.person, "said": "x", "changes": []}
    for wrong in (
        {"kind": "dance"},
        {"kind": "move", "undone_at": timezone.now() - timedelta(days=1)},
        {"kind": "move", "undone_by": who.person},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            TimelineStep.objects.create(**given | wrong)


class AnySequence(TestCase):
    """Whatever is done, and in whatever order, as many steps back as were made lead to where it began."""

    campaign: Campaign
    points: list[SamplingPoint]
    meter: Instrument
    person: User

    @classmethod
    def setUpTestData(cls) -> None:
        cls.campaign = make.CampaignFactory()
        cls.points = [make.PointFactory(room__zone__floor__building__site=cls.campaign.site) for _ in range(2)]
        cls.meter = make.InstrumentFactory(organisation=cls.campaign.site.organisation)
        for k in range(3):
            make.DeploymentFactory(
                campaign=cls.campaign, instrument=cls.meter, point=cls.points[k % 2], starts_at=at(60 * k),
                ends_at=at(60 * k + 50),
            )  # fmt: skip
        cls.person = make.UserFactory()

    @settings(max_examples=examples(25), deadline=None, suppress_health_check=list(HealthCheck))
    @given(
        st.lists(
            st.tuples(st.sampled_from("mscjrd"), st.integers(0, 5), st.integers(-30, 400), st.integers(1, 90)),
            max_size=8,
        )
    )
    def test_as_many_steps_back(self, deeds: list[tuple[str, int, int, int]]) -> None:
        campaign, points, meter = self.campaign, self.points, self.meter
        who = Who(campaign, meter, self.person)
        states = [standing(meter)]
        for deed in deeds:
            try:
                done = _do(who, points, *deed)
            except CannotEdit:
                assert standing(meter) == states[-1]
                continue
            if done is not None:
                states.append(standing(meter))
        assert TimelineStep.objects.filter(campaign=campaign).count() == len(states) - 1
        forward = list(states)
        while len(states) > 1:
            states.pop()
            last = timeline.latest_done(campaign, meter)
            assert last
            timeline.undo(who, last)
            assert standing(meter) == states[-1]
        for state in forward[1:]:
            again = timeline.next_undone(campaign, meter)
            assert again
            timeline.redo(who, again)
            assert standing(meter) == state
        assert timeline.next_undone(campaign, meter) is None


def _do(who: Who, points: list[SamplingPoint], deed: str, which: int, start: int, length: int) -> TimelineStep | None:
    rows = list(who.rows().order_by("starts_at"))
    if deed == "c" or not rows:
        return timeline.create(who, (points[which % 2], at(start), at(start + length)))
    row = rows[which % len(rows)]
    match deed:
        case "m":
            return timeline.move(who, row, at(start), at(start + length))
        case "s":
            end = row.ends_at or at(400)
            return timeline.split(who, row, row.starts_at + (end - row.starts_at) * length / 91, points[start % 2])
        case "j":
            return timeline.merge(who, row, rows[(which + 1) % len(rows)])
        case "d":
            return timeline.accept(who, [(points[0], at(start), at(start + 1)), (points[1], at(start + 1), None)])
        case _:
            return timeline.remove(who, row)
