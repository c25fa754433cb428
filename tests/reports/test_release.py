"""Signing, releasing, superseding, withdrawing."""

from __future__ import annotations

from typing import Any
from unittest.mock import patch

import pytest
from auditlog.models import LogEntry
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.http import Http404

from campaigns import models as m
from campaigns.enqueue import enqueue
from campaigns.models import Limit
from campaigns.tasks import run_job
from reports.content.canonical import digest
from reports.content.stored import digest_of
from reports.job_kinds import EVALUATE
from reports.models import Evaluation, Report
from reports.models.report import pdf_path
from reports.services import release as service
from reports.services.freeze import freeze
from reports.services.readiness import in_force
from reports.services.release import NotReleased, make_pdf, prepare, sign_and_release, withdraw
from tests import factories as make
from tests.agreeing import unagreed
from tests.database import unguarded
from tests.reports.measured import House, house, judge, work
from tests.worlds import World

WHY = "The meter was the wrong one."
pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def released(measured: House, consultant: m.User) -> Report:
    return sign_and_release(measured.campaign, consultant)


def codes(items: list[Any]) -> set[str]:
    return {item.code for item in items}


def correct(measured: House, slope: float = 0.2) -> None:
    line = m.Calibration.objects.get(channel=measured.channel)
    line.slope = slope
    line.save()
    judge(measured.campaign)


# --- what is missing ---


def test_a_judged_campaign_is_ready_and_says_what_is_worth_a_look(measured: House) -> None:
    found = prepare(measured.campaign)
    assert found.ready
    assert "unconfirmed" in codes(found.advisory)
    names = {name for item in found.advisory for name in item.names}
    assert any("Cellar room" in name for name in names)  # planned, not measured


def test_without_a_limit_or_a_measurement_there_is_nothing_to_release(site: m.Site) -> None:
    campaign = make.CampaignFactory(site=site)
    assert codes(prepare(campaign).blocking) == {"no-criteria", "agreement-departed"}
    unagreed(campaign)
    assert codes(prepare(campaign).blocking) == {"no-criteria"}
    make.CriterionFactory(campaign=campaign)
    work()
    assert codes(prepare(campaign).blocking) == {"no-findings"}


def test_undecided_and_incomparable_findings_do_not_block(measured: House) -> None:
    make.CriterionFactory(campaign=measured.campaign, limit=Limit.objects.get(code="HCHO-HC-8H"))
    work()
    found = prepare(measured.campaign)
    assert found.ready
    assert "not_comparable" in codes(found.advisory)


@pytest.mark.parametrize("state", [m.Job.State.QUEUED, m.Job.State.RUNNING])
@pytest.mark.parametrize("kind", ["evaluate", "read-upload"])
def test_work_under_way_blocks(measured: House, consultant: m.User, kind: str, state: str) -> None:
    subject = measured.campaign.pk if kind == EVALUATE else measured.upload.pk
    m.Job.objects.create(kind=kind, subject_id=subject, organisation=measured.campaign.site.organisation, state=state)
    assert codes(prepare(measured.campaign).blocking) == {"judging" if kind == EVALUATE else "reading"}
    with pytest.raises(NotReleased, match="Wait until that is done"):
        sign_and_release(measured.campaign, consultant)
    assert not Report.objects.exists()


def test_work_of_another_campaign_does_not_block(measured: House) -> None:
    other = make.CampaignFactory(site=measured.campaign.site)
    enqueue(EVALUATE, other.pk, organisation_id=other.site.organisation_id, owner=None)
    assert prepare(measured.campaign).ready


def test_a_failed_judging_blocks_until_it_is_done_again(measured: House) -> None:
    m.Job.objects.create(
        kind=EVALUATE, subject_id=measured.campaign.pk, organisation=measured.campaign.site.organisation,
        state=m.Job.State.FAILED, message="It stumbled.",
    )  # fmt: skip
    assert codes(prepare(measured.campaign).blocking) == {"judging-failed"}
    judge(measured.campaign)
    assert prepare(measured.campaign).ready


def test_findings_of_an_older_calculation_block(measured: House) -> None:
    Evaluation.objects.update(method="0")
    assert codes(prepare(measured.campaign).blocking) == {"old-method"}


# --- releasing ---


def test_a_release_freezes_signs_and_asks_for_the_pdf(measured: House, consultant: m.User) -> None:
    unsigned = freeze(measured.campaign)
    report = sign_and_release(measured.campaign, consultant, "  ", seen=digest_of(unsigned))
    assert (report.revision, report.released, report.signed_name) == (1, True, "C. Lintel")
    assert report.signed_by == consultant
    assert report.digest == digest(report.content)
    signature = report.record.signature
    assert (signature.name, signature.organisation) == ("C. Lintel", "Lintel & Sill Air Consultants")
    assert report.record.unsigned == unsigned
    job = m.Job.objects.get(kind="make-pdf")
    assert (job.subject_id, job.state, job.owner) == (report.pk, m.Job.State.QUEUED, consultant)


@pytest.mark.parametrize("who", ["field_staff", "client_person", "stranger"])
def test_only_a_consultant_of_the_house_releases(who: str, measured: House, request: pytest.FixtureRequest) -> None:
    with pytest.raises(Http404):
        sign_and_release(measured.campaign, request.getfixturevalue(who))
    assert not Report.objects.exists()


def test_what_is_signed_is_what_was_read(measured: House, consultant: m.User) -> None:
    seen = digest_of(freeze(measured.campaign))
    correct(measured)
    with pytest.raises(NotReleased, match="Something has changed"):
        sign_and_release(measured.campaign, consultant, seen=seen)
    assert not Report.objects.exists()


def test_the_same_again_is_not_a_revision(measured: House, consultant: m.User, released: Report) -> None:
    with pytest.raises(NotReleased, match="Revision 1 already says exactly this"):
        sign_and_release(measured.campaign, consultant)
    assert Report.objects.count() == 1


def test_the_same_again_after_a_withdrawal_is(measured: House, consultant: m.User, released: Report) -> None:
    withdraw(released, consultant, WHY)
    again = sign_and_release(measured.campaign, consultant)
    assert (again.revision, again.record.supersedes, again.record.changes) == (2, 1, ())


def test_a_second_revision_says_what_changed(measured: House, consultant: m.User, released: Report) -> None:
    before = digest(released.content)
    correct(measured)
    second = sign_and_release(measured.campaign, consultant)
    assert (second.revision, second.record.supersedes) == (2, 1)
    attic = next(line for line in second.changes.splitlines() if line.startswith("Attic studio"))
    assert "above limit at" in attic
    assert attic.endswith("now.")
    assert "below limit" in attic
    released.refresh_from_db()
    assert digest(released.content) == before == released.digest
    assert released.released  # superseded, and still readable


def test_two_at_once_get_one_revision(measured: House, consultant: m.User, released: Report) -> None:
    """The other one has taken the number between our look and our write: the database says so."""
    correct(measured)
    real = service._signed

    def late(campaign: m.Campaign, content: Any, by: m.User, name: str) -> Report:
        made = real(campaign, content, by, name)
        Report.objects.create(
            campaign=campaign, revision=made.revision, content={}, digest="", signed_by=by, signed_name=name,
            signed_at=made.signed_at,
        )  # fmt: skip
        return made

    with patch.object(service, "_signed", late), pytest.raises(NotReleased, match="Somebody else"):
        sign_and_release(measured.campaign, consultant)
    assert Report.objects.count() == 1


# --- withdrawing ---


def test_what_a_withdrawn_revision_had_replaced_can_be_released_again(
    measured: House, consultant: m.User, released: Report
) -> None:
    m.Campaign.objects.update(level_above=0.9)
    again = sign_and_release(m.Campaign.objects.get(pk=measured.campaign.pk), consultant)
    withdraw(again, consultant, WHY)
    m.Campaign.objects.update(level_above=0.95)
    assert in_force(measured.campaign) is None
    assert sign_and_release(m.Campaign.objects.get(pk=measured.campaign.pk), consultant).revision == 3


@pytest.mark.history
def test_a_withdrawal_is_once_and_in_the_history(released: Report, consultant: m.User) -> None:
    with pytest.raises(ValidationError, match="Say why"):
        withdraw(released, consultant, " ")
    assert withdraw(released, consultant, WHY)
    first = Report.objects.get().withdrawn_at
    assert first is not None
    assert not withdraw(released, consultant, "another")
    assert Report.objects.get().withdrawn_at == first
    changed = LogEntry.objects.get_for_object(released).filter(action=LogEntry.Action.UPDATE)
    assert list(changed.latest("timestamp").changes_dict) == ["withdrawn_at", "withdrawal_reason"]


@pytest.mark.parametrize("who", ["field_staff", "client_person", "stranger"])
def test_only_a_consultant_of_the_house_withdraws(who: str, released: Report, request: pytest.FixtureRequest) -> None:
    with pytest.raises(Http404):
        withdraw(released, request.getfixturevalue(who), WHY)
    assert Report.objects.get().released


# --- the PDF job ---


def a_job(report: Report) -> m.Job:
    """One more delivery of the work, claimed by a worker."""
    job = m.Job.objects.filter(kind="make-pdf", state=m.Job.State.QUEUED).first() or m.Job.objects.create(
        kind="make-pdf", subject_id=report.pk, organisation=report.campaign.site.organisation
    )
    taken = m.Job.take(job.pk)
    assert taken is not None
    return taken


def test_the_pdf_is_set_once(released: Report) -> None:
    work()
    first = Report.objects.get()
    assert first.pdf.read(5) == b"%PDF-"
    with patch.object(service, "render", side_effect=AssertionError("set twice")):
        assert make_pdf(a_job(released))[0] == m.Job.State.DONE
    assert Report.objects.get().pdf.name == first.pdf.name


def test_what_a_killed_worker_left_is_replaced(released: Report) -> None:
    storage, path = released.pdf.storage, pdf_path(released, "")
    storage.save(path, ContentFile(b"half a fi"))
    work()
    report = Report.objects.get()
    assert report.pdf.name == path
    assert report.pdf.read(5) == b"%PDF-"


def test_who_lost_the_lease_leaves_nothing(released: Report) -> None:
    slow = a_job(released)
    m.Job.objects.filter(pk=slow.pk).update(claim="00000000-0000-4000-8000-000000000000")
    with pytest.raises(m.LostLease):
        make_pdf(slow)
    assert not Report.objects.get().pdf


def test_a_content_that_is_not_what_was_signed_is_not_set(released: Report) -> None:
    content = released.content | {"client": "somebody else"}
    with unguarded("reports_report"):
        Report.objects.filter(pk=released.pk).update(content=content)
    job = m.Job.objects.get(kind="make-pdf")
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.code) == (m.Job.State.FAILED, "altered")
    assert not Report.objects.get().pdf
