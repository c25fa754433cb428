"""What is shown of a released report is what was signed, its PDF too; and an outsider can see that for themselves."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest.mock import Mock, patch

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from campaigns.views import pages
from reports.models import Report
from reports.pages import content_cache
from reports.queries import report_heads
from reports.services.release import sign_and_release
from reports.views import released as released_views
from tests.database import unguarded
from tests.reports.measured import House, house, work
from tests.reports.pages import Browse, text_of
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def logged() -> Iterator[Mock]:
    """What is told to the operator."""
    with patch.object(pages, "log") as log, patch.object(released_views, "log", log):
        yield log


def said_in(logged: Mock) -> str:
    return " ".join(str(call) for call in logged.error.call_args_list)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def released(measured: House, consultant: m.User) -> Report:
    sign_and_release(measured.campaign, consultant)
    work()
    return Report.objects.get()


@pytest.fixture
def reader(browse: Browse, client_person: m.User) -> Client:
    return browse(client_person)


def alter(report: Report) -> None:
    content = json.loads(json.dumps(report.content).replace("below", "above"))
    with unguarded("reports_report"):
        Report.objects.filter(pk=report.pk).update(content=content)
    content_cache.forget()
    report_heads.forget()


@pytest.mark.parametrize("route", ["released-report", "released-zone", "report-content"])
def test_an_altered_content_is_not_shown(
    reader: Client, released: Report, measured: House, route: str, logged: Mock
) -> None:
    address = reverse(route, args=[released.key, *([measured.high.key] if "zone" in route else [])])
    assert reader.get(address).status_code == 200
    alter(released)
    answer = reader.get(address)
    assert answer.status_code == 500
    told = text_of(answer)
    assert "not what was signed" in told
    assert "formaldehyde" not in told.lower()
    assert released.digest in said_in(logged)


def test_nor_in_a_list(reader: Client, released: Report) -> None:
    assert "formaldehyde was" in text_of(reader.get(reverse("released")))
    alter(released)
    told = text_of(reader.get(reverse("released")))
    assert "not what was signed" in told
    assert "formaldehyde was" not in told


def test_nor_on_the_page_where_the_next_is_signed(browse: Browse, consultant: m.User, released: Report) -> None:
    alter(released)
    answer = browse(consultant).get(reverse("report", args=[released.campaign.key]))
    assert answer.status_code == 500
    assert "not what was signed" in text_of(answer)


def test_anybody_who_reads_it_can_verify_it(reader: Client, released: Report) -> None:
    """SHA-256 by another program of the bytes that are downloaded; canonical form: sorted keys, no blanks, UTF-8."""
    address = reverse("report-content", args=[released.key])
    assert address in reader.get(reverse("released-report", args=[released.key])).content.decode()
    answer: Any = reader.get(address)
    assert answer["Content-Type"] == "application/json"
    assert answer["Content-Disposition"].startswith("attachment;")
    assert hashlib.sha256(answer.content).hexdigest() == released.digest
    assert json.loads(answer.content) == released.content


# --- the PDF ---


def pdf_of(report: Report) -> Path:
    return Path(report.pdf.path)


def test_the_digest_of_the_pdf_is_kept(reader: Client, released: Report) -> None:
    assert released.pdf_sha256 == hashlib.sha256(pdf_of(released).read_bytes()).hexdigest()
    answer: Any = reader.get(reverse("report-pdf", args=[released.key]))
    assert hashlib.sha256(b"".join(answer.streaming_content)).hexdigest() == released.pdf_sha256


@pytest.mark.parametrize("how", ["replaced", "gone"])
def test_a_pdf_that_was_replaced_is_not_served_and_can_be_set_again(
    browse: Browse, reader: Client, released: Report, consultant: m.User, how: str, logged: Mock
) -> None:
    pdf_of(released).unlink()
    if how == "replaced":
        pdf_of(released).write_bytes(b"%PDF-1.7 all is well")
    address = reverse("report-pdf", args=[released.key])
    answer = reader.get(address)
    assert answer.status_code == 500
    assert "not the one that was set" in text_of(answer)
    assert str(released.key) in said_in(logged)
    browse(consultant).post(address)
    work()
    again: Any = reader.get(address)
    assert again.status_code == 200
    assert b"".join(again.streaming_content)[:5] == b"%PDF-"
    assert Report.objects.get().pdf_sha256 == hashlib.sha256(pdf_of(Report.objects.get()).read_bytes()).hexdigest()
