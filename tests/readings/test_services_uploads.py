"""What a person decides about one log, and when people look first, without a form."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from campaigns.models import Campaign, Instrument, Job, Organisation, Site, User
from readings.job_kinds import READ_UPLOAD
from readings.models import LookFirst, Reading, Upload
from readings.services import look_first, upload_decisions
from readings.services.receive import NOT_OURS, receive
from tests import factories as make


@pytest.fixture(autouse=True)
def _unsent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("campaigns.enqueue.send", lambda job_id: None)


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory(site=site)


@pytest.fixture
def upload(campaign: Campaign) -> Upload:
    return Upload.objects.create(campaign=campaign, filename="a.csv", size=1, sha256="0" * 64)


@pytest.fixture
def meter(site: Site) -> Instrument:
    return make.InstrumentFactory(organisation=site.organisation)


@pytest.fixture
def borrowed(stranger: User) -> Instrument:
    return make.InstrumentFactory(organisation=stranger.memberships.get().organisation)


def waiting(upload: Upload) -> list[Job]:
    return list(Job.objects.filter(kind=READ_UPLOAD, subject_id=upload.pk, state=Job.State.QUEUED))


def test_it_is_read_as_the_chosen_instruments(upload: Upload, meter: Instrument, field_staff: User) -> None:
    upload_decisions.choose_instrument(upload, meter, field_staff)
    upload.refresh_from_db()
    assert upload.instrument == meter
    assert [job.owner for job in waiting(upload)] == [field_staff]


def test_it_is_read_again_as_it_is(upload: Upload, field_staff: User) -> None:
    upload_decisions.choose_instrument(upload, None, field_staff)
    upload.refresh_from_db()
    assert upload.instrument is None
    assert len(waiting(upload)) == 1


def test_not_while_it_is_read(upload: Upload, meter: Instrument, field_staff: User) -> None:
    upload_decisions.choose_instrument(upload, None, field_staff)
    assert Job.take(waiting(upload)[0].pk) is not None
    with pytest.raises(ValidationError, match=upload_decisions.RUNNING):
        upload_decisions.choose_instrument(upload, meter, field_staff)


def test_stored_readings_are_not_moved(upload: Upload, meter: Instrument, field_staff: User) -> None:
    upload_decisions.choose_instrument(upload, meter, field_staff)
    Reading.objects.create(channel=meter.channels.get(), stamp=0, nth=0, raw=0.01, upload=upload, line=2)
    other = make.InstrumentFactory.create(organisation=meter.organisation)
    with pytest.raises(ValidationError, match="they cannot be moved"):
        upload_decisions.choose_instrument(upload, other, field_staff)
    upload.refresh_from_db()
    assert upload.instrument == meter


def test_a_strangers_instrument_is_none_of_ours(
    upload: Upload, campaign: Campaign, borrowed: Instrument, field_staff: User
) -> None:
    with pytest.raises(ValidationError, match=NOT_OURS):
        upload_decisions.choose_instrument(upload, borrowed, field_staff)
    with pytest.raises(ValidationError, match=NOT_OURS):
        receive(SimpleUploadedFile("b.csv", b"x"), campaign, borrowed, field_staff)
    assert waiting(upload) == []
    assert Upload.objects.get() == upload


def test_same_memory_or_another(upload: Upload, field_staff: User) -> None:
    upload_decisions.say_twin(upload, Upload.Twin.values[0], field_staff)
    upload.refresh_from_db()
    assert upload.twin == Upload.Twin.values[0]
    assert len(waiting(upload)) == 1
    with pytest.raises(ValidationError, match="the same memory or another one"):
        upload_decisions.say_twin(upload, "perhaps", field_staff)


def test_left_outside(upload: Upload) -> None:
    upload_decisions.leave_outside(upload)
    upload.refresh_from_db()
    assert upload.outside == Upload.Outside.LEFT
    assert waiting(upload) == []


def test_one_rule_for_each_house(organisation: Organisation) -> None:
    look_first.set_rule(organisation, LookFirst.When.NEW)
    look_first.set_rule(organisation, LookFirst.When.NEVER)
    assert LookFirst.objects.get().when == LookFirst.When.NEVER
    with pytest.raises(ValidationError) as refused:
        look_first.set_rule(organisation, "sometimes")
    assert set(refused.value.message_dict) == {"when"}
    assert LookFirst.objects.get().when == LookFirst.When.NEVER
