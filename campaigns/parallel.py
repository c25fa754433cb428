"""Many hands: one piece of work shared out among processes of this host, where the system can fork.

    with shared_out(judge, groups, job.beat) as results:    # judge(group) yields things that can be pickled
        for result in results: ...

Each hand is a fork of the caller: it knows what the caller had read, opens a database connection of its own, sends what
it yields, and ends. It must only read: what it has done may be thrown away. Who asks writes, in one transaction.
"""

from __future__ import annotations

import gc
import os
import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing import Pipe as pipe_of
from multiprocessing.connection import Connection, wait
from typing import Any, NoReturn, TypeVar

from django.conf import settings
from django.db import connection, connections

Part = TypeVar("Part")
T = TypeVar("T")
Work = Callable[[Part], Iterable[T]]
Pipe = Connection

#: Results that travel together.
HANDFUL = 50
#: How long to wait before the caller may say that it is alive; after so many waits in silence the work is given up.
WAIT_S, WAITS = 5.0, 180


#: Objects after which cyclic garbage is looked for while thousands of records are made that all stay; and usually.
SELDOM, USUAL = (50_000, 20, 20), gc.get_threshold()


@contextmanager
def seldom_collected() -> Iterator[None]:
    """For work that makes many objects and few cycles: looking through all of them, again and again, is spared. Not for
    long arrays, some of which only a collection frees."""
    gc.set_threshold(*SELDOM)
    try:
        yield
    finally:
        gc.set_threshold(*USUAL)


def patiently() -> None:
    """Waiting, and saying nothing of it."""


class HandLost(RuntimeError):
    """A process ended, or fell silent, before its work was done."""


@dataclass(frozen=True)
class _Hand:
    pid: int
    pipe: Pipe


def count() -> int:
    """How many processes may work side by side; one where the system cannot fork, and inside a transaction, whose rows
    no other connection sees."""
    if not hasattr(os, "sched_getaffinity") or connection.in_atomic_block:  # not on Windows; macOS forks unwillingly
        return 1
    return settings.PROCESSES or len(os.sched_getaffinity(0))


@contextmanager
def shared_out(
    work: Work[Part, T], parts: Sequence[Part], waiting: Callable[[], None] = patiently
) -> Iterator[Iterator[T]]:
    """What ``work`` yields for each of ``parts``, one process a part, in the order in which it comes.

    One part is worked on here. ``waiting`` is called every few seconds in which nothing comes. An error in a hand is
    raised here; whatever happens, no hand outlives the block.
    """
    if len(parts) < 2:
        yield (result for part in parts for result in work(part))
        return
    hands: list[_Hand] = []
    try:
        for part in parts:
            hands.append(_hand(work, part, hands))
        yield _gathered([hand.pipe for hand in hands], waiting)
    finally:
        for hand in hands:
            hand.pipe.close()
            with suppress(ProcessLookupError, ChildProcessError):
                os.kill(hand.pid, signal.SIGKILL)
                os.waitpid(hand.pid, 0)


def _hand(work: Work[Part, T], part: Part, others: Iterable[_Hand]) -> _Hand:
    here, there = pipe_of(duplex=False)
    pid = os.fork()
    if pid == 0:
        _work_and_end(work, part, there, [here, *(other.pipe for other in others)])
    there.close()
    return _Hand(pid, here)


def _work_and_end(work: Work[Part, T], part: Part, pipe: Pipe, not_its: Iterable[Pipe]) -> NoReturn:
    """In the new process. Whatever happens, it never returns into the code that it is a copy of. ``not_its``: ends of
    pipes that only the parent reads."""
    code = 1
    try:
        for other in not_its:
            other.close()
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        gc.freeze()  # what was inherited stays; looking through it again and again would copy it
        gc.set_threshold(*USUAL)
        inherited = _connections_of_its_own()  # noqa: F841 - kept, so that nothing closes them
        try:
            _send(work(part), pipe)
            code = 0
        except Exception as error:
            pipe.send(("error", error))
    except BaseException:  # noqa: S110 - nobody listens any more, or the error cannot be sent
        pass
    finally:
        os._exit(code)


def _connections_of_its_own() -> list[Any]:
    """New ones in the place of those that the parent goes on using, which stay open and untouched."""
    inherited = [connections[alias] for alias in connections]
    for alias in connections:
        connections[alias] = connections.create_connection(alias)
    return inherited


def _send(results: Iterable[T], pipe: Pipe) -> None:
    handful: list[T] = []
    for result in results:
        handful.append(result)
        if len(handful) == HANDFUL:
            pipe.send(("some", handful))
            handful = []
    pipe.send(("last", handful))


def _gathered(pipes: Iterable[Pipe], waiting: Callable[[], None]) -> Iterator[Any]:
    waited_for, waits = set(pipes), 0
    while waited_for:
        ready = wait(list(waited_for), timeout=WAIT_S)
        waits = 0 if ready else waits + 1
        if waits == WAITS:
            raise HandLost(f"Nothing was heard from {len(waited_for)} processes for {WAIT_S * WAITS:.0f} s.")
        if not ready:
            waiting()
        for pipe in ready:
            assert isinstance(pipe, Connection)
            is_last, sent = _received(pipe)
            if is_last:
                waited_for.discard(pipe)
            yield from sent


def _received(pipe: Pipe) -> tuple[bool, list[Any]]:
    try:
        what, sent = pipe.recv()
    except EOFError:
        raise HandLost("A process ended before its work was done.") from None
    if what == "error":
        raise sent
    return what == "last", sent
