"""One piece of work shared out among forked processes: everything comes back once, and errors and deaths do, too."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator

import pytest
from django.conf import LazySettings
from django.db import connection, transaction

from campaigns import parallel
from campaigns.models import Organisation
from tests import factories as make

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not hasattr(os, "sched_getaffinity"), reason="forks only where that is safe"),
]


def numbers(part: range) -> Iterator[tuple[int, int]]:
    yield from ((n, os.getpid()) for n in part)


def collected(work: object, parts: list[range]) -> list[tuple[int, int]]:
    with parallel.shared_out(work, parts) as results:  # type: ignore[arg-type, var-annotated]
        return list(results)


def test_every_part_comes_back_once_from_a_process_of_its_own() -> None:
    found = collected(numbers, [range(120), range(120, 130), range(0)])
    assert sorted(n for n, _ in found) == list(range(130))
    assert len({pid for _, pid in found} - {os.getpid()}) == 2


def test_one_part_is_worked_on_here() -> None:
    assert {pid for _, pid in collected(numbers, [range(3)])} == {os.getpid()}


def test_hands_read_what_is_committed_and_leave_the_connection_alone() -> None:
    make.OrganisationFactory(name="Lintel & Sill")
    connection.ensure_connection()
    with parallel.shared_out(lambda part: Organisation.objects.values_list("name", flat=True), [1, 2]) as results:
        assert list(results) == ["Lintel & Sill"] * 2
    assert Organisation.objects.count() == 1


def test_an_error_in_a_hand_is_raised_here() -> None:
    def fails(part: range) -> Iterator[tuple[int, int]]:
        yield from numbers(part)
        raise ValueError(f"not beyond {part.stop}")

    with pytest.raises(ValueError, match="not beyond 3"):
        collected(fails, [range(3), range(3)])


def test_a_hand_that_is_killed_is_noticed() -> None:
    def killed(part: range) -> Iterator[tuple[int, int]]:
        os.kill(os.getpid(), signal.SIGKILL)
        yield 0, 0

    with pytest.raises(parallel.HandLost):
        collected(killed, [range(1), range(1)])


def test_no_hand_outlives_the_block() -> None:
    def slow(part: range) -> Iterator[tuple[int, int]]:
        for n in part:
            yield from [(n, os.getpid())] * parallel.HANDFUL
            time.sleep(0.2)

    with parallel.shared_out(slow, [range(100), range(100)]) as results:
        _, pid = next(results)
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


def test_the_caller_may_say_that_it_is_alive_while_nothing_comes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parallel, "WAIT_S", 0.05)
    waits: list[int] = []

    def slow(part: range) -> Iterator[int]:
        time.sleep(0.5)
        yield 1

    with parallel.shared_out(slow, [range(1), range(1)], lambda: waits.append(1)) as results:
        assert list(results) == [1, 1]
    assert waits


def test_silence_without_end_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parallel, "WAIT_S", 0.02)
    monkeypatch.setattr(parallel, "WAITS", 3)

    def silent(part: range) -> Iterator[tuple[int, int]]:
        time.sleep(60)
        yield 0, 0

    with pytest.raises(parallel.HandLost, match="Nothing was heard"):
        collected(silent, [range(1), range(1)])


def test_inside_a_transaction_nobody_else_sees_its_rows(settings: LazySettings) -> None:
    settings.PROCESSES = 4
    assert parallel.count() == 4
    with transaction.atomic():
        assert parallel.count() == 1
