"""Records to JSON and back: what comes back is what was written, and anything else is refused with the place in it."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from campaigns.frozen.records import Codec, RecordError

#: What JSON and COPY escape, and what they do not.
TEXTS = st.text(st.sampled_from('aé/µ "\\\t\r\n\x00\x1f\u2028\U0001f41f'))
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)


@dataclass(frozen=True, slots=True)
class Lid:
    """Nothing in it."""


@dataclass(frozen=True, slots=True)
class Shelf:
    label: str
    width: float | None


@dataclass(frozen=True, slots=True)
class Cupboard:
    name: str
    drawers: int
    height: float
    locked: bool
    open: bool | None
    shelves: tuple[Shelf, ...]
    pairs: tuple[tuple[str, float], ...]
    top: Shelf | Lid | None


CODEC = Codec(Cupboard)
SHELVES = st.builds(Shelf, TEXTS, st.none() | NUMBERS)
CUPBOARDS = st.builds(
    Cupboard,
    name=TEXTS,
    drawers=st.integers(),
    height=NUMBERS,
    locked=st.booleans(),
    open=st.none() | st.booleans(),
    shelves=st.lists(SHELVES).map(tuple),
    pairs=st.lists(st.tuples(TEXTS, NUMBERS)).map(tuple),
    top=st.none() | SHELVES | st.builds(Lid),
)
ONE = Cupboard('é \\ "x"\n', 3, 0.1 + 0.2, True, None, (Shelf("a", 1e-9), Shelf("b", None)), (("c", 2.0),), Lid())


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(CUPBOARDS)
def test_what_is_written_comes_back(cupboard: Cupboard) -> None:
    assert CODEC.read(json.loads(CODEC.text(cupboard))) == cupboard


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(CUPBOARDS)
def test_the_text_says_what_json_says_of_the_same_dictionary(cupboard: Cupboard) -> None:
    """RFC 8259 as the standard library's ``json`` writes it."""
    plain = json.loads(CODEC.text(cupboard))
    assert CODEC.text(cupboard) == json.dumps(plain, ensure_ascii=False, separators=(",", ":"))
    assert list(plain) == ["name", "drawers", "height", "locked", "open", "shelves", "pairs", "top"]


def test_one_of_several_records_is_told_by_its_fields() -> None:
    assert json.loads(CODEC.text(ONE))["top"] == {}
    assert CODEC.read(json.loads(CODEC.text(replace(ONE, top=Shelf("d", 1.0))))).top == Shelf("d", 1.0)


def test_a_whole_number_is_a_number() -> None:
    """PostgreSQL keeps 1e22 in jsonb as the integer 10000000000000000000000 (its manual, 8.14, on numeric)."""
    height = CODEC.read(json.loads(CODEC.text(ONE)) | {"height": 10**22}).height
    assert (height, type(height)) == (1e22, float)


@pytest.mark.parametrize(
    ("change", "path", "words"),
    [
        ({"legs": 4}, (), "Cupboard with unknown legs"),
        ({"name": 4}, ("name",), "text expected, not 4"),
        ({"drawers": True}, ("drawers",), "a whole number expected, not True"),
        ({"drawers": 3.0}, ("drawers",), "a whole number expected, not 3.0"),
        ({"height": "tall"}, ("height",), "a number expected, not 'tall'"),
        ({"height": None}, ("height",), "a number expected, not None"),
        ({"height": True}, ("height",), "a number expected, not True"),
        ({"height": 10**400}, ("height",), f"a number of 308 digits at most expected, not 1{'0' * 38}…"),
        ({"height": math.nan}, ("height",), "a number expected, not nan"),
        ({"locked": 1}, ("locked",), "true or false expected, not 1"),
        ({"shelves": {}}, ("shelves",), "a list expected, not {}"),
        ({"shelves": [{"label": "a", "width": 1.0}, {"label": "b"}]}, ("shelves", "1"), "Shelf with missing width"),
        ({"shelves": [{"label": None, "width": 1.0}]}, ("shelves", "0", "label"), "text expected, not None"),
        ({"pairs": [["c", 2.0], ["d"]]}, ("pairs", "1"), "a list of 2 expected, not ['d']"),
        ({"pairs": [["c", "d"]]}, ("pairs", "0", "1"), "a number expected, not 'd'"),
        ({"top": {"label": "a"}}, ("top",), "Shelf or Lid expected, not {'label': 'a'}"),
    ],
)
def test_what_is_no_such_record_is_refused(change: dict[str, Any], path: tuple[str, ...], words: str) -> None:
    with pytest.raises(RecordError) as error:
        CODEC.read(json.loads(CODEC.text(ONE)) | change)
    assert (error.value.path, error.value.words) == (path, words)
    assert str(error.value) == (f"{'.'.join(path)}: {words}" if path else words)


@pytest.mark.parametrize("stored", [None, [], "text", {}])
def test_what_is_no_record_at_all_is_refused(stored: Any) -> None:
    with pytest.raises(RecordError, match="Cupboard"):
        CODEC.read(stored)


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"name": 4}, "name"),
        ({"drawers": "3"}, "drawers"),
        ({"height": 3}, "height"),
        ({"height": math.inf}, "height"),
        ({"height": 10**400}, "height"),
        ({"drawers": 10**5000}, "drawers"),
        ({"name": "\ud800"}, ""),
        ({"locked": 1}, "locked"),
        ({"shelves": [Shelf("a", 1.0)]}, "shelves"),
        ({"shelves": (Shelf("a", 1.0), Lid())}, "shelves.1"),
        ({"shelves": (Shelf("a", math.nan),)}, "shelves.0.width"),
        ({"pairs": (("c",),)}, "pairs.0"),
        ({"top": "a"}, "top"),
    ],
)
def test_a_record_with_something_else_in_it_is_not_written(change: dict[str, Any], path: str) -> None:
    with pytest.raises(RecordError) as error:
        CODEC.text(replace(ONE, **change))
    assert ".".join(error.value.path) == path


def test_what_no_record_can_hold_is_said_at_once() -> None:
    @dataclass(frozen=True)
    class Drawer:
        things: set[str]

    with pytest.raises(TypeError, match="cannot hold"):
        Codec(Drawer)
    with pytest.raises(TypeError, match="cannot hold"):
        Codec[Any](tuple[()])
    with pytest.raises(TypeError, match="holds itself"):
        Codec(Chest)


def test_records_that_look_alike_cannot_be_told_apart() -> None:
    with pytest.raises(TypeError, match="tell them apart"):
        Codec[Any](Shelf | Ledge)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Chest:
    inner: Chest | None


@dataclass(frozen=True, slots=True)
class Ledge:
    """Called as a shelf is."""

    label: str
    width: float | None
