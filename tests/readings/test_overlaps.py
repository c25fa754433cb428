"""The same memory, read out several times: whatever part each file holds, in whatever order they come, however they are
cut into chunks and wherever a worker is killed, the rows are those of the memory."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from campaigns.models import Campaign, Channel, Instrument, Job, User
from methods.quantities.moments import stamp_ms
from readings import store
from readings.models import Upload
from readings.queries import rows
from readings.services import reading
from readings.services.receive import ask_to_read
from readings.store import Batch, Intake, StoreTally
from tests import factories as make
from tests.examples import examples
from tests.readings.doing import EVER, HEAD, WALL, Read, hand_in, read, told

#: What is said of readings that were not stored, because they do not fit beside those that are held.
APART = {"held-apart", "held-differently"}
Memory = list[tuple[int, float]]  # the minute of a reading, and its value


@dataclass
class Part:
    """One download: readings ``start`` to ``stop`` of the memory; a worker is killed at the ``kill``-th write."""

    start: int
    stop: int
    kill: int | None
    after: bool


@st.composite
def memories(draw: st.DrawFn, values: st.SearchStrategy[float] | None = None) -> Memory:
    """Two to five minutes of one to five readings; every value once, if not said otherwise."""
    sizes = draw(st.lists(st.integers(1, 5), min_size=2, max_size=5))
    minutes = [minute for minute, size in enumerate(sizes) for _ in range(size)]
    return [(minute, draw(values) if values is not None else k / 1000) for k, minute in enumerate(minutes)]


@st.composite
def downloads(draw: st.DrawFn, length: int, most: int) -> list[Part]:
    """Parts that together hold the whole, each sharing at least one reading with the next; in any order."""
    starts = sorted({0, *draw(st.lists(st.integers(0, length - 1), max_size=most - 1))})
    parts = []
    for start, following in pairwise([*starts, length - 1]):
        stop = draw(st.integers(following + 1, length))
        parts.append(Part(start, stop, draw(st.none() | st.integers(0, 4)), draw(st.booleans())))
    return draw(st.permutations(parts))


def a_file(part: Memory) -> str:
    """As a logger that prints whole minutes writes it."""
    lines = [f"{WALL + timedelta(minutes=minute):%Y-%m-%d %H:%M},{value}" for minute, value in part]
    return "\n".join([HEAD, *lines, ""])


def stored(channel: Channel) -> Memory:
    """In the order of stamps, and of nth within them."""
    found = rows(channel.pk, *EVER)
    minutes = (found["stamp"] - stamp_ms(WALL)) // 60_000
    return list(zip(minutes.tolist(), found["raw"].tolist(), strict=True))


@pytest.fixture
def person(db: None) -> User:
    return make.UserFactory.create()


@contextmanager
def undone() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def killed(upload: Upload, part: Part, patch: pytest.MonkeyPatch) -> None:
    """Read up to the ``kill``-th write, where nothing in the app sees what happens; the sweep gives the job back."""
    left = iter(range(part.kill or 0, -1, -1))

    def write(batches: list[Batch], file: Intake) -> StoreTally:
        now = next(left) == 0
        if now and not part.after:
            raise SystemExit
        tally = store.write(batches, file)
        if now:
            raise SystemExit
        return tally

    with patch.context() as during:
        during.setattr(reading, "write", write)
        try:
            read(upload)
        except SystemExit:
            Job.objects.update(beat_at=timezone.now() - timedelta(days=1))
            assert Job.give_back() == 1


def take_all(parts: list[Part], memory: Memory, meter: Instrument, campaign: Campaign, person: User) -> list[Upload]:
    uploads = []
    for k, part in enumerate(parts):
        text = f"# download {k}\n" + a_file(memory[part.start : part.stop])
        upload = hand_in(campaign, text, f"{k}.csv", meter, person)
        with pytest.MonkeyPatch.context() as patch:
            if part.kill is not None:
                killed(upload, part, patch)
        if Job.objects.filter(subject_id=upload.pk, kind="read-upload", state=Job.State.QUEUED).exists():
            read(upload)
        took_something = upload.stored or upload.held  # or every line was left out, and somebody is to look at that
        assert upload.state == (Upload.State.READ if took_something else Upload.State.ATTENTION)
        uploads.append(upload)
    return uploads


def codes(uploads: list[Upload]) -> set[str]:
    return {code for upload in uploads for *_, code in told(upload)}


economical = settings(
    max_examples=examples(20),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@economical
@given(st.data())
def test_the_rows_are_those_of_the_memory(
    campaign: Campaign, meter: Instrument, channel: Channel, person: User, data: st.DataObject
) -> None:
    """Values that are all different tell everything, once the part that joins two others is there."""
    memory = data.draw(memories())
    parts = data.draw(downloads(len(memory), most=4))
    with undone(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(reading, "CHUNK_ROWS", data.draw(st.integers(1, 7)))
        uploads = take_all(parts, memory, meter, campaign, person)
        # Two ends of one minute, with nothing yet between them: left out, and said so. Read again, they fit.
        for _ in uploads:
            for upload in [u for u in uploads if codes([u]) & APART]:
                ask_to_read(upload, person)
                read(upload)
        assert stored(channel) == memory
        assert codes(uploads) <= {"held-alike"}
        assert sum(upload.stored for upload in uploads) == len(memory), "each row is one upload's"
        assert all(u.stored + u.held == p.stop - p.start for u, p in zip(uploads, parts, strict=True))


@economical
@given(st.data())
def test_values_that_are_alike_are_never_stored_twice(
    campaign: Campaign, meter: Instrument, channel: Channel, person: User, data: st.DataObject
) -> None:
    """Clean air is 0.00 most of the time. What cannot be told is left out and said; nothing is overwritten."""
    memory = data.draw(memories(st.sampled_from([0.0, 0.01])))
    middle = data.draw(st.integers(0, len(memory) - 1))
    shared = data.draw(st.integers(middle + 1, len(memory)))
    parts = [
        Part(0, shared, None, after=False),
        Part(middle, len(memory), data.draw(st.none() | st.just(1)), after=True),
    ]
    with undone(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(reading, "CHUNK_ROWS", data.draw(st.integers(1, 7)))
        uploads = take_all(data.draw(st.permutations(parts)), memory, meter, campaign, person)
        assert not Counter(stored(channel)) - Counter(memory), "nothing that the memory does not hold"
        assert codes(uploads) <= {"held-alike", *APART}
        if not codes(uploads):
            assert stored(channel) == memory


SIX = [(0, 0.021), (0, 0.022), (1, 0.023), (1, 0.024), (1, 0.025), (1, 0.026), (1, 0.027), (1, 0.028), (2, 0.029)]


@pytest.mark.parametrize("late_first", [False, True])
def test_a_download_that_begins_at_the_third_of_six_readings_of_a_minute(
    take: Callable[..., Read], channel: Channel, *, late_first: bool
) -> None:
    files = [a_file(SIX[:7]), a_file(SIX[4:])]
    uploads = [take(text, f"{k}.csv")[0] for k, text in enumerate(files[::-1] if late_first else files)]
    assert stored(channel) == SIX
    counted = [(5, 0, 0), (4, 3, 0)] if late_first else [(7, 0, 0), (2, 3, 0)]
    assert [(u.stored, u.held, u.problem_count) for u in uploads] == counted
    nth = rows(channel.pk, *EVER)["nth"].tolist()
    assert nth == ([0, 1, -2, -1, 0, 1, 2, 3, 0] if late_first else [0, 1, 0, 1, 2, 3, 4, 5, 0])


def test_what_does_not_fit_is_left_out_and_said(take: Callable[..., Read], channel: Channel) -> None:
    """Two ends of one minute, and between them something that neither file has."""
    take(a_file(SIX[:4]), "early.csv")
    late, _ = take(a_file(SIX[6:]), "late.csv")
    assert stored(channel) == [*SIX[:4], SIX[8]]
    assert told(late) == [(2, "Formaldehyde", "2026-09-15 09:01:00", "held-apart")]
    assert late.problems.get().message == (
        "This file has 2 readings of 2026-09-15 09:01:00, and 2 are held. Their values do not tell how they follow "
        "each other, so 2 of this file were left out: hand in a file that holds the whole of this time."
    )


def test_values_that_are_alike_leave_open_how_many_are_the_same(take: Callable[..., Read], channel: Channel) -> None:
    clean = [(0, 0.01), (1, 0.0), (1, 0.0), (1, 0.0)]
    take(a_file(clean), "early.csv")
    late, _ = take(a_file([*clean[1:], (1, 0.0), (2, 0.01)]), "late.csv")
    assert stored(channel) == [*clean, (1, 0.0), (2, 0.01)]
    assert [code for *_, code in told(late)] == ["held-alike"]
    assert "as few as possible were added" in late.problems.get().message


@pytest.mark.parametrize("early", [[0.0, 0.0, 0.0, 0.01], [0.0, 0.0]])
def test_a_minute_of_which_each_file_has_an_end(
    take: Callable[..., Read], channel: Channel, early: list[float]
) -> None:
    """Found at random: what begins late is never laid before what is held, and equal values say that they are."""
    minute = [(1, value) for value in [*early, 0.0]]
    files = [a_file([(0, 0.01), *minute[:-1]]), a_file(minute[-2:])]
    for order in (files, files[::-1]):
        with undone():
            uploads = [take(text, f"{k}.csv")[0] for k, text in enumerate(order)]
            assert not Counter(stored(channel)) - Counter([(0, 0.01), *minute])
            assert "held-alike" in codes(uploads)


def test_a_download_that_begins_in_the_second_pass_of_a_repeated_hour(
    take: Callable[..., Read], channel: Channel
) -> None:
    """Each of its stamps is held twice; its readings are those of the second pass."""
    both = [(minute, k / 1000) for k, minute in enumerate([*range(20), *range(5, 30)])]
    take(a_file(both), "night.csv")
    before = stored(channel)
    again, _ = take(a_file(both[24:]), "later.csv")
    assert (again.stored, again.held) == (0, len(both) - 24)
    assert not {code for *_, code in told(again)} & {"held-differently", "held-apart", "held-alike"}
    assert stored(channel) == before


def test_an_edited_file_is_shown_line_by_line(take: Callable[..., Read], channel: Channel) -> None:
    """Most of a minute is as it was: what differs was changed, and nothing is shifted to make it fit."""
    take(a_file(SIX), "memory.csv")
    edited, _ = take(a_file([*SIX[:4], (1, 0.9), *SIX[5:]]), "edited.csv")
    assert told(edited) == [(6, "Formaldehyde", "0.9", "held-differently")]
    assert stored(channel) == SIX
