"""One step ahead: the next chunk of a file is read while this one is stored.

Reading waits for the processor and storing for the database, which has another one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import TypeVar

T = TypeVar("T")
_END = object()


@contextmanager
def one_ahead(items: Iterable[T]) -> Iterator[Iterator[T]]:
    """``items`` as they come, each made in a thread of its own while the one before is in use.

    An error among them comes where the item would have. They must not ask the database, whose connections belong to
    one thread. Nothing is made any more once the block is left.
    """
    with ThreadPoolExecutor(1, thread_name_prefix="one-ahead") as thread:
        yield _handed_over(iter(items), thread)


def _handed_over(items: Iterator[T], thread: ThreadPoolExecutor) -> Iterator[T]:
    coming = thread.submit(next, items, _END)
    while (item := coming.result()) is not _END:
        coming = thread.submit(next, items, _END)
        yield item  # type: ignore[misc]
