"""Letting two people, or two workers, do something at the same moment."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any, TypeVar

from django.db import connection, connections

T = TypeVar("T")

#: How long one waits for the other at a meeting point.
PATIENCE_S = 5.0


def at_once(*doings: Callable[[], T]) -> list[T]:
    """What each of ``doings`` returned, all begun at the same moment, each in a thread with a connection of its own.

    Raises the first exception that one of them raised.
    """
    start = threading.Barrier(len(doings))
    results: list[Any] = [None] * len(doings)
    errors: list[BaseException] = []

    def do(k: int, doing: Callable[[], T]) -> None:
        try:
            start.wait(10)
            results[k] = doing()
        except BaseException as error:
            errors.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=do, args=(k, doing)) for k, doing in enumerate(doings)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
        assert not thread.is_alive(), "they wait for each other for ever"
    if errors:
        raise errors[0]
    return results


class Meeting:
    """A point in the code at which two wait for each other, once."""

    def __init__(self, parties: int = 2, patience_s: float = PATIENCE_S) -> None:
        self._barrier = threading.Barrier(parties)
        self._patience_s = patience_s
        self._been = threading.local()

    def wait(self) -> None:
        """Returns when both are here, or the other does not come. Only the first call of each thread waits.

        SQLite lets only one of them into a transaction, so there the other would never come: the first goes on, and
        the second finds what the first has left.
        """
        if getattr(self._been, "here", False) or (connection.vendor == "sqlite" and connection.in_atomic_block):
            return
        self._been.here = True
        try:
            self._barrier.wait(self._patience_s)
        except threading.BrokenBarrierError:
            return

    def before(self, function: Callable[..., T]) -> Callable[..., T]:
        """``function``, entered by both together."""

        def met(*args: Any, **kwargs: Any) -> T:
            self.wait()
            return function(*args, **kwargs)

        return met

    def after(self, function: Callable[..., T]) -> Callable[..., T]:
        """``function``, left by both together."""

        def met(*args: Any, **kwargs: Any) -> T:
            result = function(*args, **kwargs)
            self.wait()
            return result

        return met
