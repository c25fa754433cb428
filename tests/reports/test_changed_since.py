"""A released report keeps what it froze, and its page says that a file it rests on was read anew or withdrawn since."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Job
from campaigns.tasks import run_job
from readings.models import Reading, SettingAside, Upload
from readings.services.reading_anew import read_as_of, read_in_again
from readings.services.stretches_aside import set_aside, take_back
from readings.services.withdrawing import withdraw
from reports.models import Report, Result
from reports.services.freeze import freeze
from reports.services.readiness import prepare
from reports.services.release import sign_and_release
from tests import factories as make
from tests.reports.measured import HIGH, LOW, MINUTES, House, house, work

Browse = Callable[[m.User | None], Client]


@pytest.fixture
def measured(site: m.Site) -> House:
    """Its file is really there, and so are the facts that reading it leaves on its row."""
    found = house(site)
    stamps = Reading.objects.order_by("stamp").values_list("stamp", flat=True)
    upload = found.upload
    upload.first_stamp_ms, upload.last_stamp_ms = min(stamps), max(stamps)
    upload.stored = len(stamps)
    upload.original.save("log", ContentFile(b"time,formaldehyde [ppm]\n2026-09-15 09:00:00,0.012\n"))
    return found


@pytest.fixture
def released(measured: House, consultant: m.User) -> Report:
    report = sign_and_release(measured.campaign, consultant)
    work()
    report.refresh_from_db()
    return report


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def pages(browser: Client, report: Report) -> list[str]:
    """Of the revision, and of the campaign's report."""
    routes = (("released-report", report.key), ("report", report.campaign.key))
    return [text(browser.get(reverse(route, args=[key]))) for route, key in routes]


def withdrawn(upload: Upload, by: m.User) -> None:
    withdraw(upload, "another building", by)
    run_job(Job.objects.get(kind="set-aside", state=Job.State.QUEUED).pk)
    work()


def test_as_long_as_nothing_changed_nothing_is_said(released: Report, browse: Browse, consultant: m.User) -> None:
    assert all("Changed since" not in page for page in pages(browse(consultant), released))


def test_a_file_that_was_withdrawn(released: Report, measured: House, browse: Browse, consultant: m.User) -> None:
    before = released.digest, released.content
    withdrawn(measured.upload, consultant)
    for page in pages(browse(consultant), released):
        assert "Revision 1 keeps what it froze." in page
        assert re.search(r"attic and library\.csv was withdrawn on .*: another building", page)
    released.refresh_from_db()
    assert (released.digest, released.content) == before


def test_a_file_that_was_read_anew(released: Report, measured: House, browse: Browse, consultant: m.User) -> None:
    other = make.InstrumentFactory.create(organisation=measured.instrument.organisation, serial="TST-0002")
    read_as_of(measured.upload, other, "the labels were swapped", consultant)
    for page in pages(browse(consultant), released):
        assert re.search(r"attic and library\.csv was read anew on .*: the labels were swapped", page)


def test_a_stretch_that_was_set_aside_and_one_that_came_back(
    released: Report, measured: House, browse: Browse, consultant: m.User
) -> None:
    first = Reading.objects.order_by("stamp").values_list("stamp", flat=True)[0]
    (made,) = set_aside([measured.channel], first, first + 60_000, "breathed on", consultant)
    browser = browse(consultant)
    for page in pages(browser, released):
        assert re.search(r"meter A.* were set aside on .*: breathed on", page)
    take_back(made, consultant)
    assert all("Changed since" not in page for page in pages(browser, released)), "all is as it was signed"


def test_one_that_was_aside_when_it_was_signed_and_came_back(
    measured: House, browse: Browse, consultant: m.User
) -> None:
    first = Reading.objects.order_by("stamp").values_list("stamp", flat=True)[0]
    (made,) = set_aside([measured.channel], first, first, "breathed on", consultant)
    work()
    report = sign_and_release(measured.campaign, consultant)
    assert all("Changed since" not in page for page in pages(browse(consultant), report))
    take_back(made, consultant)
    assert all("were taken back on" in page for page in pages(browse(consultant), report))


def test_a_client_reads_what_was_signed(
    released: Report, measured: House, browse: Browse, client_person: m.User, consultant: m.User
) -> None:
    withdrawn(measured.upload, consultant)
    page = browse(client_person).get(reverse("released-report", args=[released.key]))
    assert page.status_code == 200
    assert "Changed since" not in text(page)
    assert "another building" not in text(page)


def test_another_file_is_no_matter_of_this_report(
    released: Report, measured: House, browse: Browse, consultant: m.User
) -> None:
    """Nor the same bytes as a log of another instrument."""
    other = make.InstrumentFactory.create(organisation=measured.instrument.organisation, serial="TST-0009")
    twin = Upload.objects.create(
        campaign=measured.campaign, instrument=other, filename="twin.csv", size=1, sha256=measured.upload.sha256
    )
    withdrawn(twin, consultant)
    assert all("Changed since" not in page for page in pages(browse(consultant), released))


# --- judging follows --------------------------------------------------------------------------------------------------


def test_findings_are_judged_without_what_was_withdrawn(measured: House, consultant: m.User) -> None:
    assert Result.objects.count() == 2
    withdrawn(measured.upload, consultant)
    assert Result.objects.filter(value__isnull=False).count() == 0


def test_findings_are_judged_without_what_was_set_aside_and_with_what_came_back(
    measured: House, consultant: m.User
) -> None:
    """The whole visit to the attic studio: its zone has no value any more, until it is taken back."""
    before = {r.pk: (r.value, r.digest) for r in Result.objects.order_by("pk")}
    low, high = sorted(value for value, _ in before.values() if value is not None)
    assert high == pytest.approx(low * HIGH / LOW, rel=0.01), "in the unit of the limit, with its noise"
    first = Reading.objects.order_by("stamp").values_list("stamp", flat=True)[0]
    (made,) = set_aside([measured.channel], first, first + MINUTES * 60_000 - 1, "the door stood open", consultant)
    assert made.count == MINUTES
    work()
    values = [value for value in Result.objects.values_list("value", flat=True) if value is not None]
    assert values == [low]
    take_back(made, consultant)
    work()
    after = sorted((value, digest) for value, digest in Result.objects.values_list("value", "digest"))
    assert after == sorted(before.values()), "the same inputs give the same digest"


def test_nothing_is_released_while_readings_are_set_aside(measured: House, consultant: m.User) -> None:
    assert prepare(measured.campaign).ready
    withdraw(measured.upload, "another building", consultant)
    assert "reading" in {item.code for item in prepare(measured.campaign).blocking}


def test_a_new_report_names_the_file_that_counts(measured: House, consultant: m.User) -> None:
    """Not the one that was withdrawn, nor the same bytes of another instrument."""
    twin = make.InstrumentFactory.create(organisation=measured.instrument.organisation, serial="TST-0003")
    Upload.objects.create(
        campaign=measured.campaign, instrument=twin, filename="twin.csv", size=1, sha256=measured.upload.sha256
    )
    (file,) = freeze(measured.campaign).files
    assert (file.name, file.serial) == ("attic and library.csv", "TST-0001")


def test_read_in_again_is_told_as_read_anew(
    released: Report, measured: House, browse: Browse, consultant: m.User
) -> None:
    withdrawn(measured.upload, consultant)
    read_in_again(Upload.objects.get(pk=measured.upload.pk), consultant)
    assert all("was read anew on" in page for page in pages(browse(consultant), released))
    assert SettingAside.objects.get().created_at - released.signed_at < timedelta(minutes=5)
