"""The same log is handed in twice at the same moment: by two people, or by one who clicks twice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.base import File
from django.core.files.uploadedfile import SimpleUploadedFile

from campaigns.models import Campaign, Job, User
from readings.models import Upload
from readings.services import receive as service
from readings.services.receive import Receipt, receive
from tests import factories as make
from tests.races.meeting import Meeting, at_once
from tests.readings.doing import a_log

pytestmark = pytest.mark.django_db(transaction=True)

LOG = a_log([0.031, 0.032]).encode()


@pytest.fixture(autouse=True)
def _unsent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("campaigns.enqueue.send", lambda job_id: None)


@pytest.fixture
def campaign(transactional_db: None) -> Campaign:
    return make.CampaignFactory.create()


def hand_in(campaign: Campaign, name: str, by: User, content: bytes = LOG) -> Any:
    return lambda: receive(SimpleUploadedFile(name, content), campaign, None, by)


def originals(settings: LazySettings) -> list[Path]:
    return [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()]


def test_one_is_stored_and_the_other_is_told(
    campaign: Campaign, settings: LazySettings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They meet when both have looked and neither has stored."""
    monkeypatch.setattr(service, "File", Meeting().before(File))
    people = make.UserFactory.create_batch(2)
    receipts: list[Receipt] = at_once(hand_in(campaign, "a.csv", people[0]), hand_in(campaign, "b.csv", people[1]))
    assert sorted(receipt.already_held for receipt in receipts) == [False, True]
    assert receipts[0].upload == receipts[1].upload == Upload.objects.get()
    (kept,) = originals(settings)
    assert str(kept) == Upload.objects.get().original.path, "the bytes of the loser are gone, those of the row are not"
    assert kept.read_bytes() == LOG
    assert Job.objects.count() == 1


def test_without_any_help_from_the_test(campaign: Campaign, settings: LazySettings) -> None:
    person = make.UserFactory.create()
    for n in range(5):
        content = a_log([n]).encode()
        receipts: list[Receipt] = at_once(*[hand_in(campaign, "log.csv", person, content)] * 4)
        assert sorted(receipt.already_held for receipt in receipts) == [False, True, True, True]
        assert len({receipt.upload.pk for receipt in receipts}) == 1
    assert len(originals(settings)) == Upload.objects.count() == Job.objects.count() == 5


def test_two_campaigns_do_not_stand_in_each_others_way(campaign: Campaign, settings: LazySettings) -> None:
    other = make.CampaignFactory.create(site=campaign.site)
    person = make.UserFactory.create()
    receipts: list[Receipt] = at_once(hand_in(campaign, "a.csv", person), hand_in(other, "a.csv", person))
    assert [receipt.already_held for receipt in receipts] == [False, False]
    assert len(originals(settings)) == 2
