"""An archive of several logs: each is an upload of its own, and the archive's row says what became of it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from campaigns.models import Campaign, Channel, Instrument, Job, User
from campaigns.tasks import run_job
from readings.models import Upload
from tests.methods.logs.test_containers import zipped
from tests.readings.doing import TEN, WALL, a_log, hand_in, read, stored
from tests.readings.pages import Browse, at, send, text

LATER = WALL + timedelta(hours=3)
FIRST = a_log(TEN, serial="FL-7001").encode()
SECOND = a_log(TEN[:4], serial="FL-7001", start=LATER).encode()
PDF = b"%PDF-1.7 something"
BOX = zipped(("room 1/log.csv", FIRST), ("room 2/log.csv", SECOND), ("readme.pdf", PDF))
TOLD = "2 logs inside, each its own upload below. 1 file left out: its page says why."


def inside(archive: Upload) -> list[Upload]:
    return list(archive.logs_inside.order_by("pk"))


@pytest.fixture
def box(campaign: Campaign, channel: Channel) -> Upload:
    """Unpacked; its logs wait to be read."""
    upload = hand_in(campaign, BOX, "box.zip")
    job = read(upload)
    assert (job.state, job.message, upload.state) == (Job.State.DONE, TOLD, Upload.State.UNPACKED)
    return upload


def test_each_log_is_an_upload_and_is_read(box: Upload, channel: Channel) -> None:
    first, second = inside(box)
    assert [(u.filename, u.member) for u in (first, second)] == [("log.csv", "room 1/log.csv"), ("log.csv", "room 2/log.csv")]  # fmt: skip # noqa: E501
    assert (first.campaign, first.uploaded_by, first.size) == (box.campaign, box.uploaded_by, len(FIRST))
    with first.original.open("rb") as kept:
        assert kept.read() == FIRST
    assert {read(upload).state for upload in (first, second)} == {Job.State.DONE}
    assert len(stored(channel)) == 14


def test_what_was_left_out_is_named(box: Upload) -> None:
    (problem,) = box.problems.all()
    assert (problem.value, problem.code, box.problem_count) == ("readme.pdf", "left-out", 1)
    assert problem.message.startswith("“readme.pdf” was left out. This is a PDF document")


def test_the_pages_say_so(box: Upload, browse: Browse, field_staff: User) -> None:
    browser = browse(field_staff)
    (first, _), page = inside(box), text(browser.get(at("upload", box)))
    assert TOLD in page
    assert "“readme.pdf” was left out." in page
    assert at("upload", first) in page
    assert "Read it another way" not in page
    assert "box.zip: room 2/log.csv" in text(browser.get(at("uploads", box.campaign)))
    assert f'<a href="{at("upload", box)}">box.zip</a>, as room 1/log.csv.' in text(browser.get(at("upload", first)))


def test_the_logs_stand_below_their_archive(box: Upload, browse: Browse, field_staff: User) -> None:
    later = hand_in(box.campaign, a_log(TEN[:2]), "later.csv")
    page = browse(field_staff).get(at("uploads", box.campaign))
    assert [upload.pk for upload in page.context["uploads"]] == [later.pk, box.pk, *(u.pk for u in inside(box))]


@pytest.mark.parametrize(("page", "brings"), [("uploads", 3), ("upload", 1), ("timeline", 1)])
def test_its_row_brings_those_of_its_logs_to_a_list(
    box: Upload, browse: Browse, field_staff: User, page: str, brings: int
) -> None:
    asked_by = at(page, box if page == "upload" else box.campaign)
    headers = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{asked_by}?show="}
    rows = text(browse(field_staff).get(at("upload-row", box), headers=headers))
    assert rows.count("<li ") == rows.count("data-job=") == brings
    assert [at("upload-row", log) in rows for log in inside(box)] == [page == "uploads"] * 2


def test_nobody_else_sees_what_is_inside(box: Upload, browse: Browse, stranger: User, client_person: User) -> None:
    for person in (stranger, client_person):
        assert browse(person).get(at("upload", inside(box)[0])).status_code == 404


def test_only_those_who_may_hand_in_a_log_may_hand_in_many(campaign: Campaign, browse: Browse, client_person: User) -> None:  # fmt: skip # noqa: E501
    assert send(browse(client_person), campaign, ("box.zip", BOX)).status_code == 404
    assert not Upload.objects.exists()


def test_the_instrument_that_was_chosen_is_that_of_each(campaign: Campaign, meter: Instrument) -> None:
    box = hand_in(campaign, BOX, "box.zip", meter)
    read(box)
    assert [upload.instrument for upload in inside(box)] == [meter, meter]


def test_a_log_that_is_here_already(campaign: Campaign, channel: Channel) -> None:
    """By its bytes: handed in before by itself, or twice in the archive."""
    hand_in(campaign, FIRST, "before.csv")
    box = hand_in(campaign, zipped(("a.csv", FIRST), ("b.csv", SECOND), ("c.csv", SECOND)), "box.zip")
    assert read(box).message == "3 logs inside, each its own upload below. 2 of them were here already."
    assert [upload.member for upload in inside(box)] == ["b.csv"]
    told = {problem.value: problem.message for problem in box.problems.all()}
    assert "is here already, as “before.csv”" in told["a.csv"]
    assert "is here already, as “b.csv”" in told["c.csv"]


def test_twice_is_once(box: Upload) -> None:
    job = Job.objects.get(kind="read-upload", subject_id=box.pk)
    Job.objects.filter(pk=job.pk).update(state=Job.State.QUEUED)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.message, len(inside(box)), Upload.objects.count()) == (TOLD, 2, 3)


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (zipped(("a.pdf", PDF), ("b.pdf", PDF)), "left-out", "None of the 2 files in the archive is a log."),
        (zipped(*((f"{n}.csv", b"x") for n in range(201))), "several_files", "up to 200 are taken at once"),
        (zipped(("a.csv", FIRST + b" " * 70_000_000), ("b.csv", FIRST)), "zip_bomb", "far more than a log"),
    ],
    ids=["no log", "too many", "bomb"],
)
def test_what_is_not_unpacked(campaign: Campaign, content: bytes, code: str, words: str) -> None:
    box = hand_in(campaign, content, "box.zip")
    job = read(box)
    assert (job.state, job.code, box.state) == (Job.State.FAILED, code, Upload.State.UNREADABLE)
    assert words in job.message
    assert Upload.objects.count() == 1


def test_names_that_would_lead_elsewhere(campaign: Campaign) -> None:
    box = hand_in(campaign, zipped(("../../etc/a\u202e.csv", FIRST), ("/abs/b.csv", SECOND)), "box.zip")
    read(box)
    assert [(u.filename, u.member) for u in inside(box)] == [("a.csv", "../../etc/a.csv"), ("b.csv", "/abs/b.csv")]
    assert all(str(upload.original.name).startswith("originals/") for upload in inside(box))


def test_a_packed_log_is_read_as_before(campaign: Campaign, channel: Channel) -> None:
    upload = hand_in(campaign, zipped(("log.csv", FIRST)), "log.zip")
    assert read(upload).state == Job.State.DONE
    assert (Upload.objects.count(), len(stored(channel))) == (1, 10)


BATTERY = b"time;battery (V)\n" + b"".join(b"2026-03-01 10:%02d;3.%d\n" % (n, n) for n in range(9))


@pytest.mark.parametrize("others", [11, 20])
def test_a_long_list_of_what_was_left_out_is_folded(
    campaign: Campaign, channel: Channel, browse: Browse, consultant: User, others: int
) -> None:
    """A table of other quantities is left out, too: handed in by itself it could be answered."""
    members = [("battery.csv", BATTERY), *((f"{n}.pdf", PDF) for n in range(others - 1))]
    archive = hand_in(campaign, zipped(("log.csv", FIRST), *members), "box.zip")
    read(archive)
    page = browse(consultant).get(at("upload", archive))
    in_view, _, folded = text(page).partition(f"<summary>The other {others - 12}</summary>")
    assert (in_view.count("was left out."), folded.count("was left out.")) == (min(others, 12), max(others - 12, 0))
    assert "“battery.csv” was left out. This is a table with a time" in text(page)
    assert "If one is, hand it in by itself" in text(page)
