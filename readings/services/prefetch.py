"""One step ahead: the next chunk of a file is read while this one is stored, and whoever waits says that it is alive.

Reading waits for the processor and storing for the database, which has another one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as NotYet
from contextlib import contextmanager
from typing import TypeVar

T = TypeVar("T")
_END = object()
#: How often who waits may say that it is alive.
WAIT_S = 1.0


def patiently() -> None:
    """Waiting, and saying nothing of it."""


@contextmanager
def one_ahead(items: Iterable[T], waiting: Callable[[], None] = patiently) -> Iterator[Iterator[T]]:
    """``items`` as they come, each made in a thread of its own while the one before is in use.

    An error among them comes where the item would have. They must not ask the database, whose connections belong to
    one thread. Nothing is made any more once the block is left. ``waiting`` is called every second in which none comes.
    """
    with ThreadPoolExecutor(1, thread_name_prefix="one-ahead") as thread:
        yield _handed_over(iter(items), thread, waiting)


def meanwhile(work: Callable[[], T], waiting: Callable[[], None]) -> T:
    """What ``work`` makes, in a thread of its own; it must not ask the database. ``waiting`` is called every second."""
    with ThreadPoolExecutor(1, thread_name_prefix="meanwhile") as thread:
        return _waited_for(thread.submit(work), waiting)


def _handed_over(items: Iterator[T], thread: ThreadPoolExecutor, waiting: Callable[[], None]) -> Iterator[T]:
    coming = thread.submit(next, items, _END)
    while (item := _waited_for(coming, waiting)) is not _END:
        coming = thread.submit(next, items, _END)
        yield item  # type: ignore[misc]


def _waited_for(coming: Future[T], waiting: Callable[[], None]) -> T:
    while True:
        try:
            return coming.result(WAIT_S)
        except NotYet:
            if coming.done():  # the work itself raised it
                return coming.result()
            waiting()
