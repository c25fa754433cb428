"""What judging again would change is told, and nothing is written."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import patch

import pytest
from django.core.management import CommandError, call_command

from campaigns.models import Calibration, Job
from reports.models import Finding
from reports.services import digests as result_digests
from reports.services.rejudging import would_change
from tests.keeping.conftest import Kept, digests

pytestmark = pytest.mark.django_db(transaction=True)


def test_nothing_new_changes_nothing(kept: Kept) -> None:
    would = would_change(kept.house.campaign)
    assert (would.method, would.results, would.findings) == (result_digests.METHOD, 0, ())
    assert would.judged == 2


def test_verdicts_before_and_after_are_told_and_nothing_is_written(
    kept: Kept, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Calibration.objects.update(slope=0.05)  # past everything that would ask for judging
    before = digests(tmp_path / "before")
    with patch("config.management.commands.rejudge.METHOD", "99"):
        call_command("rejudge", dry_run=True)
    assert digests(tmp_path / "after") == before
    said = capsys.readouterr().out
    assert "now 99: 2 of 2 results would change, 2 findings, 1 verdicts." in said
    assert "verdict: Attic studio, First floor, Main house; " in said
    assert "before: above - " in said
    assert "after:  below - " in said
    attic = Finding.objects.get(zone=kept.house.high)
    assert attic.verdict == "above"
    change = next(c for c in would_change(kept.house.campaign).findings if c.is_of_verdict)
    assert (change.before.statement, change.after.verdict) == (attic.statement, "below")


def test_without_it_every_campaign_with_criteria_is_judged_again(kept: Kept) -> None:
    call_command("rejudge")
    assert [job.subject_id for job in Job.objects.filter(kind="evaluate", state="queued")] == [kept.house.campaign.pk]


def test_a_campaign_that_is_not_there(kept: Kept) -> None:
    with pytest.raises(CommandError, match="no campaign"):
        call_command("rejudge", campaign="00000000-0000-4000-8000-000000000000")
