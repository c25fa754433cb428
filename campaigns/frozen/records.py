"""Frozen dataclasses to JSON and back: strict, and as fast as ``json`` writes dictionaries.

A record is a frozen dataclass. Its fields are ``str``, ``int``, ``float`` or ``bool``, other records, tuples of these
(``tuple[X, ...]``, ``tuple[X, Y]``), one of several records (told apart by the names of their fields), each with
``| None`` where nothing may stand there. Its JSON is an object with exactly its fields, or it is refused.

Like ``dataclasses`` itself this writes the source of two functions for every record and runs it: evaluation makes
hundreds of thousands of them, and walking over annotations for each costs more than the JSON.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields, is_dataclass
from functools import cache, partial
from itertools import count
from json.encoder import encode_basestring  # the one of ``ensure_ascii=False``
from math import isfinite
from types import NoneType, UnionType
from typing import Any, Generic, NamedTuple, NoReturn, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")
Function = Callable[[Any], Any]
#: From the name of a variable to the source of an expression.
Expression = Callable[[str], str]
#: From a value to its parts: what each is called, the expression of its kind, and itself.
Parts = Callable[[Any], Iterable[tuple[object, Expression, Any]]]


class RecordError(ValueError):
    """JSON that is no such record, or a record with something else in it than it declares.

    ``path``: the names of the fields, and places in lists, that lead to it; ``words``: what is wrong there.
    """

    def __init__(self, words: str, path: Sequence[str] = ()) -> None:
        super().__init__(f"{'.'.join(path)}: {words}" if path else words)
        self.words, self.path = words, tuple(path)

    def under(self, step: str) -> RecordError:
        return RecordError(self.words, (step, *self.path))


class Codec(Generic[T]):
    """Of one kind of record, or of tuples of them. Raises TypeError where ``kind`` has a field no record can have."""

    def __init__(self, kind: type[T]) -> None:
        of: Any = kind
        try:
            way = _way(of)
        except RecursionError:
            raise TypeError(f"{kind} holds itself") from None
        self._write, self._read = _of(way.write), _of(way.read)

    def text(self, record: T) -> str:
        """Its JSON. Raises RecordError where a value is not what its field declares, no number (nan, infinity, too
        many digits), or text with half of a character in it."""
        try:
            text = str(self._write(record))
            text.encode()
        except UnicodeEncodeError as error:
            raise RecordError(f"half of a character, {text[error.start]!r}, is no text") from None
        except TypeError as error:
            raise RecordError(str(error)) from None
        return text

    def read(self, stored: Any) -> T:
        """The record of its JSON as ``json.loads`` gives it. Raises RecordError for anything else: a field that is
        unknown, one that is missing, a value of another type."""
        record: T = self._read(stored)
        return record


class _Way(NamedTuple):
    """How values of one kind become JSON (which may raise TypeError as well as RecordError), and how they come back."""

    write: Expression
    read: Expression


@cache
def _way(kind: Any) -> _Way:
    if kind in _PLAIN:
        return _PLAIN[kind]
    if is_dataclass(kind):
        return _record(kind)
    parts = get_args(kind)
    if get_origin(kind) is tuple and parts:
        return _list(_way(parts[0])) if parts[1:] == (...,) else _row([_way(part) for part in parts])
    if get_origin(kind) in (UnionType, Union):
        some = [part for part in parts if part is not NoneType]
        way = _way(some[0]) if len(some) == 1 else _one_of(some)
        return _or_none(way) if len(some) < len(parts) else way
    raise TypeError(f"a record cannot hold {kind}")


# --- source -----------------------------------------------------------------------------------------------------------

#: Everything that the source names.
_NAMED: dict[str, Any] = {}
_SERIAL = count()


def _named(thing: Any) -> str:
    name = f"_{next(_SERIAL)}"
    _NAMED[name] = thing
    return name


def _function(*lines: str) -> Function:
    """Of ``value``."""
    made: dict[str, Function] = {}
    exec("\n    ".join(["def function(value):", *lines]), _NAMED, made)  # noqa: S102 - made of the names of fields
    return made["function"]


def _of(expression: Expression) -> Function:
    return _function(f"return {expression('value')}")


def _several(is_one: str, refuse: Function, attempt: Sequence[str], parts: Parts) -> Expression:
    """A call of a function of a value that ``is_one``, or is refused, and is made of ``parts``: these are looked at one
    by one where the ``attempt`` at the whole failed."""

    def locate(value: Any) -> NoReturn:
        for step, expression, part in parts(value):
            try:
                _of(expression)(part)
            except RecordError as error:
                raise error.under(str(step)) from None
            except (TypeError, ValueError, OverflowError) as error:  # of integers with too many digits: the last two
                raise RecordError(str(error), (str(step),)) from None
        raise AssertionError("one of the parts was refused")

    name = _named(
        _function(
            f"if not ({is_one}): {_named(refuse)}(value)",
            "try:",
            *(f"    {line}" for line in attempt),
            f"except (TypeError, ValueError, OverflowError): {_named(locate)}(value)",
        )
    )
    return lambda v: f"{name}({v})"


# --- plain values -----------------------------------------------------------------------------------------------------


def _no(wanted: str, value: Any) -> NoReturn:
    shown = repr(value)
    raise RecordError(f"{wanted} expected, not {shown if len(shown) <= 40 else shown[:39] + '…'}")


def _whole(value: Any) -> float:
    """A number without a fraction: a database may keep 1e22 as the integer it is."""
    try:
        return float(value) if type(value) is int else _no("a number", value)
    except OverflowError:
        return _no("a number of 308 digits at most", value)


_NAMED |= {
    "RecordError": RecordError,
    "digits": int.__repr__,
    "isfinite": isfinite,
    "no": _no,
    "number": float.__repr__,
    "quoted": encode_basestring,
    "whole": _whole,
}


def _exactly(kind: str, wanted: str) -> Expression:
    return lambda v: f"({v} if type({v}) is {kind} else no({wanted!r}, {v}))"


_PLAIN = {
    str: _Way(lambda v: f"quoted({v})", _exactly("str", "text")),
    int: _Way(lambda v: f"digits({v})", _exactly("int", "a whole number")),
    float: _Way(
        lambda v: f"(number({v}) if isfinite({v}) else no('a number', {v}))",
        lambda v: f"({v} if type({v}) is float and isfinite({v}) else whole({v}))",
    ),
    bool: _Way(
        lambda v: f"('true' if {v} is True else 'false' if {v} is False else no('true or false', {v}))",
        _exactly("bool", "true or false"),
    ),
}


def _or_none(way: _Way) -> _Way:
    return _Way(
        lambda v: f"('null' if {v} is None else {way.write(v)})", lambda v: f"(None if {v} is None else {way.read(v)})"
    )


# --- what is made of several ------------------------------------------------------------------------------------------


def _list(item: _Way) -> _Way:
    write, read = item
    return _Way(
        _several(
            "type(value) is tuple",
            partial(_no, "a tuple"),
            [f"return '[' + ','.join([{write('v')} for v in value]) + ']'"],
            lambda value: ((n, write, part) for n, part in enumerate(value)),
        ),
        _several(
            "type(value) is list",
            partial(_no, "a list"),
            [f"return tuple([{read('v')} for v in value])"],
            lambda value: ((n, read, part) for n, part in enumerate(value)),
        ),
    )


def _row(items: Sequence[_Way]) -> _Way:
    """So many values, each of its own kind."""
    size, names = len(items), [f"v{n}" for n in range(len(items))]
    writes, reads = [item.write for item in items], [item.read for item in items]
    unpack = f"{', '.join(names)}, = value"
    texts, values = (", ".join(way(v) for way, v in zip(ways, names, strict=True)) for ways in (writes, reads))
    return _Way(
        _several(
            f"type(value) is tuple and len(value) == {size}",
            partial(_no, f"a tuple of {size}"),
            [unpack, f"return '[' + ','.join(({texts},)) + ']'"],
            lambda value: zip(count(), writes, value, strict=False),
        ),
        _several(
            f"type(value) is list and len(value) == {size}",
            partial(_no, f"a list of {size}"),
            [unpack, f"return ({values},)"],
            lambda value: zip(count(), reads, value, strict=False),
        ),
    )


def _names(kind: Any) -> list[str]:
    return [field.name for field in fields(kind)]


def _record(kind: Any) -> _Way:
    hints, own = get_type_hints(kind), _named(kind)
    ways = {name: _way(hints[name]) for name in _names(kind)}
    texts = [f"'{',' * (n > 0)}\"{name}\":', {way.write(f'v{n}')}, " for n, (name, way) in enumerate(ways.items())]
    values = [f"{name}={way.read(f'v{n}')}" for n, (name, way) in enumerate(ways.items())]
    return _Way(
        _several(
            f"type(value) is {own}",
            partial(_no, kind.__name__),
            [*(f"v{n} = value.{name}" for n, name in enumerate(ways)), f"return ''.join(('{{', {''.join(texts)}'}}'))"],
            lambda value: ((name, way.write, getattr(value, name)) for name, way in ways.items()),
        ),
        _several(
            f"type(value) is dict and value.keys() == {_named(ways.keys())}",
            partial(_other_fields, kind),
            [*(f"v{n} = value[{name!r}]" for n, name in enumerate(ways)), f"return {own}({', '.join(values)})"],
            lambda value: ((name, way.read, value[name]) for name, way in ways.items()),
        ),
    )


def _other_fields(kind: Any, stored: Any) -> NoReturn:
    if type(stored) is not dict:
        _no(kind.__name__, stored)
    wanted, there = set(_names(kind)), set(map(str, stored))
    wrong = {"missing": wanted - there, "unknown": there - wanted}
    said = [f"{word} {', '.join(sorted(names))}" for word, names in wrong.items() if names]
    raise RecordError(f"{kind.__name__} with {'; '.join(said)}")


def _one_of(kinds: Sequence[Any]) -> _Way:
    """Raises TypeError where they are not records, or two have the same names."""
    ways = {kind: _record(kind) for kind in kinds if is_dataclass(kind)}
    writes = {kind: _of(way.write) for kind, way in ways.items()}
    reads = {frozenset(_names(kind)): _of(way.read) for kind, way in ways.items()}
    if len(reads) != len(kinds):
        raise TypeError("a record can hold one of several records only where their fields tell them apart")
    wanted = " or ".join(kind.__name__ for kind in kinds)

    def write(record: Any) -> Any:
        way = writes.get(type(record))
        return way(record) if way else _no(wanted, record)

    def read(stored: Any) -> Any:
        way = reads.get(frozenset(stored)) if type(stored) is dict else None
        return way(stored) if way else _no(wanted, stored)

    write_name, read_name = _named(write), _named(read)
    return _Way(lambda v: f"{write_name}({v})", lambda v: f"{read_name}({v})")
