"""A JSON document whose values stand by columns, or in rows without names: one object for each time is made of it.

``{"time": […], "co2_ppm": […]}`` has a list for each column, ``{"columns": […], "index": […], "data": [[…], …]}`` one
of names and one of rows. Lists are kept on disk until the document has ended: no more of one is held than a piece.
"""

from __future__ import annotations

import json
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import IO, Any

from methods.logs.types import LogProblem, Unreadable

#: Of each list so much is held in memory, and all of them together take no more of the disk.
HELD, MOST_KEPT = 1 << 14, 512 << 20
MOST_LISTS = 500
#: General words for the list that names the columns of rows.
_NAMES = frozenset(("columns", "names", "fields", "header", "headers", "keys"))
_SHOWN = 6
Path = tuple[str, ...]


@dataclass(slots=True)
class KeptList:
    """The elements of one list as JSON, one to a line; of rows their cells, with tabs between. ``width`` is 0 for
    single values, ``is_odd`` for what is neither those nor rows of one width, ``texts`` how many are texts."""

    path: Path
    kept: IO[bytes] = field(default_factory=lambda: tempfile.SpooledTemporaryFile(HELD))  # noqa: SIM115
    count: int = 0
    size: int = 0
    width: int = 0
    texts: int = 0
    is_odd: bool = False

    def add(self, cells: Sequence[tuple[Any, str]], *, row: bool) -> None:
        width = len(cells) if row else 0
        is_nested = any(isinstance(value, list | dict) for value, _ in cells)
        self.is_odd |= is_nested or (row and not cells) or (bool(self.count) and width != self.width)
        self.count, self.width = self.count + 1, width
        self.texts += sum(isinstance(value, str) for value, _ in cells)
        if not self.is_odd:
            self.size += self.kept.write("\t".join(raw for _, raw in cells).encode(errors="replace") + b"\n")

    def lines(self) -> Iterator[bytes]:
        self.kept.seek(0)
        return (line[:-1] for line in self.kept)

    def are_names(self) -> bool:
        return bool(self.count) and not self.width and self.texts == self.count

    def shown(self) -> str:
        return f"“{'.'.join(self.path)[:40]}”"


class JsonColumns:
    """The lists of a document that are none of objects."""

    def __init__(self) -> None:
        self.lists: list[KeptList] = []

    def begin(self, path: Path) -> KeptList:
        """A list under the keys ``path``. Raises Unreadable for one that stands twice."""
        if any(kept.path == path for kept in self.lists):
            raise _refuse(f"“{'.'.join(path)[:40]}” stands twice in this JSON document: which one holds is not told")
        kept = KeptList(path)
        if len(self.lists) < MOST_LISTS:
            self.lists.append(kept)
        return kept

    def watch(self) -> None:
        """Raises Unreadable where more is kept than may be."""
        if sum(kept.size for kept in self.lists) > MOST_KEPT:
            raise _refuse(
                "This JSON document has a list for each column, and is too long to be turned into a line for each time"
            )

    def records(self, said: Mapping[str, str]) -> Iterator[bytes] | None:
        """Lines of JSON with one object each, ``said`` in each of them; None where these lists are no columns.

        Raises Unreadable where the lists are columns or rows that do not belong together.
        """
        values = [kept for kept in self.lists if not kept.width and not kept.is_odd]
        rows = [kept for kept in self.lists if kept.width and not kept.is_odd]
        mixed = next((kept for kept in self.lists if kept.is_odd), None)
        if mixed is not None and len(values) > 1:
            raise _refuse(f"{mixed.shown()} of this JSON document is a list of values and of lists or objects")
        if len(rows) == 1 and (names := _names_of(rows[0], values)):
            return self._of_rows(rows[0], names, [kept for kept in values if kept is not names], said)
        if rows or len(values) < 2:
            return None
        if len({kept.count for kept in values}) > 1:
            lengths = ", ".join(f"{kept.shown()} {kept.count:,}" for kept in values[:_SHOWN])
            more = ", …" if len(values) > _SHOWN else ""
            raise _refuse(
                f"The lists of this JSON document have unequal lengths ({lengths}{more}): which values are of one time "
                "is not told"
            )
        return _lines(_called(values), [kept.lines() for kept in values], said)

    def _of_rows(
        self, rows: KeptList, names: KeptList, values: Sequence[KeptList], said: Mapping[str, str]
    ) -> Iterator[bytes]:
        called = [json.loads(line) for line in names.lines()]
        beside = [kept for kept in values if kept.count == rows.count]
        others = [kept for kept in values if kept.count != rows.count and kept.path[-1].casefold() == "index"]
        if others:
            raise _refuse(
                f"{others[0].shown()} of this JSON document has {others[0].count:,} values and {rows.shown()} "
                f"{rows.count:,} rows: which belong together is not told"
            )
        return _lines([*_called(beside), *called], [*(kept.lines() for kept in beside), rows.lines()], said)


def _names_of(rows: KeptList, values: Sequence[KeptList]) -> KeptList | None:
    """The list that names the columns of ``rows``."""
    able = [kept for kept in values if kept.are_names() and kept.count == rows.width]
    called = [kept for kept in able if kept.path[-1].casefold() in _NAMES]
    return called[0] if len(called) == 1 else able[0] if len(able) == 1 else None


def _called(lists: Sequence[KeptList]) -> list[str]:
    """By the last key, or by all where they stand under several."""
    one_place = len({kept.path[:-1] for kept in lists}) == 1
    return [kept.path[-1] if one_place else ".".join(kept.path) for kept in lists]


def _lines(names: Sequence[str], cells: Sequence[Iterator[bytes]], said: Mapping[str, str]) -> Iterator[bytes]:
    """``cells`` come by columns, or several with tabs between."""
    twice = [name for name, count in Counter(names).items() if count > 1]
    if twice:
        raise _refuse(f"Two columns of this JSON document are called “{twice[0][:40]}”: which one is which is not told")
    keys = [json.dumps(name).encode() for name in names]
    tail = b"".join(f", {json.dumps(k)}: {json.dumps(v)}".encode() for k, v in said.items() if k not in names)
    return _zipped(keys, cells, tail)


def _zipped(keys: Sequence[bytes], cells: Sequence[Iterator[bytes]], tail: bytes) -> Iterator[bytes]:
    for parts in zip(*cells, strict=True):
        values = b"\t".join(parts).split(b"\t")
        yield b"{" + b", ".join([key + b": " + value for key, value in zip(keys, values, strict=True)]) + tail + b"}\n"


def _refuse(what: str) -> Unreadable:
    text = f"{what}. Export the log as JSON lines, one object for each time, or as text (CSV)."
    return Unreadable(LogProblem(0, "", "", "not_a_log", text))
