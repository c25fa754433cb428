"""Items are made one step ahead, in order, and errors come where the item would have."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest

from readings.services.prefetch import one_ahead


def test_all_of_them_in_order() -> None:
    with one_ahead(range(50)) as items:
        assert list(items) == list(range(50))
    with one_ahead(range(0)) as items:
        assert list(items) == []


def test_the_next_is_made_while_one_is_in_use_and_no_more_than_that() -> None:
    made: list[int] = []
    second = threading.Event()

    def making() -> Iterator[int]:
        for n in range(5):
            made.append(n)
            if n == 1:
                second.set()
            yield n

    with one_ahead(making()) as items:
        assert next(items) == 0
        assert second.wait(10)
    assert made == [0, 1]  # leaving the block stops it


def test_an_error_comes_after_what_was_made_before_it() -> None:
    def failing() -> Iterator[int]:
        yield 1
        yield 2
        raise ValueError("damaged from here on")

    with one_ahead(failing()) as items:
        assert [next(items), next(items)] == [1, 2]
        with pytest.raises(ValueError, match="damaged"):
            next(items)


def test_they_are_made_in_another_thread_and_that_ends() -> None:
    def threads() -> Iterator[threading.Thread]:
        while True:
            yield threading.current_thread()

    with one_ahead(threads()) as items:
        first = next(items)
        assert first is not threading.current_thread()
        assert next(items) is first
    assert not first.is_alive()
