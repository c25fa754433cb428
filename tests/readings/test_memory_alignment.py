"""Two downloads that meet in the middle of a minute: which reading is which, told by values alone."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs.values.memory_alignment import LONGEST, Edges, GroupPosition, Values, align
from tests.examples import examples

WHOLE, OPEN = Edges(), Edges(begins=True, ends=True, held_begins=True, held_ends=True)
CUT_OFF, LATE = Edges(held_ends=True), Edges(held_begins=True)  # how the held ones came


def values(text: str) -> Values:
    """One letter a reading; a dot stored no value."""
    return [(None, 4) if letter == "." else (float(ord(letter)), 0) for letter in text]


@pytest.mark.parametrize(
    ("new", "held", "edges", "place"),
    [
        ("abc", "abc", WHOLE, GroupPosition(0)),
        ("abcdef", "abc", CUT_OFF, GroupPosition(0)),  # the first download was cut off
        ("cdef", "abcdef", Edges(begins=True), GroupPosition(2)),  # the second one begins late
        ("cdef", "abcd", Edges(begins=True, held_ends=True), GroupPosition(2)),
        ("abcdef", "cdef", LATE, GroupPosition(-2)),  # the other way about
        ("abcd", "cdef", Edges(ends=True, held_begins=True), GroupPosition(-2)),
        ("c", "abcdef", Edges(begins=True, ends=True), GroupPosition(2)),
        ("c.ef", "abc.", Edges(begins=True, held_ends=True), GroupPosition(2)),
        ("d", "abcd", WHOLE, GroupPosition(3)),  # the second pass of a repeated hour, without the first
        ("xd", "d", WHOLE, GroupPosition(-1)),
        ("xbc", "abc", OPEN, None),
        ("cd", "bc", WHOLE, None),  # overlapping, but neither is cut off
        ("de", "abc", OPEN, None),  # they may follow each other, or something lies between
        # equal values: as few as can be are new, and it is said
        ("aaaa", "aaa", Edges(begins=True, held_ends=True), GroupPosition(0, unsure=True)),
        ("ab", "ba", Edges(begins=True, held_ends=True), GroupPosition(1, unsure=True)),
        ("ba", "aab", Edges(begins=True, ends=True, held_ends=True), GroupPosition(2, unsure=True)),
        # … but not where nothing hangs on it
        ("aaaa", "aaaaaa", Edges(begins=True), GroupPosition(2)),
        ("aaaaaa", "aaa", CUT_OFF, GroupPosition(0)),
    ],
)  # fmt: skip
def test_where_it_stands(new: str, held: str, edges: Edges, place: GroupPosition | None) -> None:
    assert align(values(new), values(held), edges) == place


def test_groups_of_a_clock_that_stood_still_are_not_tried() -> None:
    assert align(values("a") * LONGEST, values("ab"), OPEN) is None
    assert align(values("a") * LONGEST, values("aa"), OPEN) == GroupPosition(0)


@given(st.text("ab", min_size=1, max_size=7), st.data())
@settings(max_examples=examples(200), deadline=None)
def test_what_is_sure_is_true(minute: str, data: st.DataObject) -> None:
    """Two downloads that share at least one reading of a minute, cut off anywhere, in either order."""
    a = data.draw(st.integers(0, len(minute) - 1))
    b = data.draw(st.integers(a + 1, len(minute)))
    early, late = values(minute[:b]), values(minute[a:])
    both = values(minute)
    # what can be known of them
    edges, backwards = Edges(begins=True, held_ends=True), Edges(ends=True, held_begins=True)
    for new, held, edge, truth in ((late, early, edges, a), (early, late, backwards, -a)):
        place = align(new, held, edge)
        assert place is not None
        if not place.unsure:
            assert joined(new, held, place.shift) == both, (truth, place)


def joined(new: Values, held: Values, shift: int) -> Values:
    found = dict(enumerate(held)) | dict(enumerate(new, shift))
    return [found[k] for k in sorted(found)]
