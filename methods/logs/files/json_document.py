"""A JSON document (RFC 8259) that holds one list of objects, turned into lines with one object each as it is read.

The list may be the document, stand under a key, or under a key of a key; so may an object whose keys are times. What
the document says of itself before the list (a serial number, a time zone) is put into each line; all else beside the
list is left out. Where there is no such list, lists of values are taken for columns.
"""

from __future__ import annotations

import codecs
import json
import re
from collections.abc import Callable, Iterator
from typing import Any

from methods.logs.files.json_columns import JsonColumns, KeptList
from methods.logs.files.json_times import TimedRecords, begins_with_times, holds_times, is_time_key, two_tables, unkeyed
from methods.logs.stamps.zone_names import zone_said_in
from methods.logs.types import LogProblem, Unreadable
from methods.logs.words.serial_numbers import is_serial_name

PIECE = 1 << 16
#: No object of a log is longer; the list lies no deeper than this.
LONGEST, DEEPEST = 1 << 20, 4
_LINE_END = re.compile(r"[\r\n][ \t\r\n]*")
_BLANK = re.compile(r"[ \t\r\n]*")
_BEGINS_LIST = re.compile(r"\s*\[\s*(?:\{\s*[\"}]|\])")
_BEGINS_OBJECT = re.compile(r'\s*\{\s*"(?:[^"\\]|\\.)*"\s*:')
_LIST_UNDER_KEY = re.compile(r'"\s*:\s*\[\s*(?:\{\s*"|[-\d"\[ntf])')
_LIST = re.compile(r"\[[ \t\r\n]*(\S)")
_NEXT = re.compile(r"\}\s*(?:,\s*(?=\{)|(?=\]))")
_NEXT_LINE = re.compile(r"[\r\n]\s*(?=\{)")
_DECODER = json.JSONDecoder()
_DAMAGED = "This JSON document is damaged, or a value in it is longer than a million characters: export the log again."
Read = Callable[[int], bytes]


def is_document(head: bytes) -> bool:
    """Whether the first bytes are those of a document with objects, and not of lines with one object each."""
    text = head.decode(_encoding(head), errors="replace").removeprefix("\ufeff")
    if _BEGINS_LIST.match(text):
        return True
    if not _BEGINS_OBJECT.match(text):
        return False
    first, end, rest = text.strip().partition("\n")
    value = _decoded(first)
    if isinstance(value, dict):
        return not rest.strip() and (_holds_list(value) or _holds_columns(value) or holds_times(value, DEEPEST))
    if not end:
        return _LIST_UNDER_KEY.search(text) is not None or begins_with_times(text)
    return not isinstance(_decoded(rest.partition("\n")[0]), dict)


def _encoding(head: bytes) -> str:
    """UTF-8 as the standard wants it, or what else is met: UTF-16 and Windows-1252."""
    seen = json.detect_encoding(head)
    if seen.startswith("utf-8"):
        try:
            codecs.getincrementaldecoder("utf-8")().decode(head)
        except UnicodeDecodeError:
            return "cp1252"
    return seen


def _decoded(text: str) -> Any:
    try:
        return _DECODER.decode(text)
    except (ValueError, RecursionError):
        return None


def _holds_list(value: Any, depth: int = DEEPEST) -> bool:
    """Whether a list of objects stands in it, or in an object in it."""
    if isinstance(value, list):
        return bool(value) and isinstance(value[0], dict)
    inner = value.values() if isinstance(value, dict) and depth else ()
    return any(_holds_list(part, depth - 1) for part in inner)


def _holds_columns(value: dict[str, Any]) -> bool:
    """Whether several lists of values, or one of rows, stand in it or in an object in it."""
    lists = list(_lists_in(value, DEEPEST))
    return len(lists) > 1 or any(isinstance(part, list) for found in lists for part in found[:1])


def _lists_in(value: Any, depth: int) -> Iterator[list[Any]]:
    if isinstance(value, list):
        yield value
    elif isinstance(value, dict) and depth:
        for part in value.values():
            yield from _lists_in(part, depth - 1)


class _Ended(Exception):
    """The document ends before it is complete."""


class JsonRecords:
    """The records of a document as lines of JSON in UTF-8. ``truncated``: it ended before it was complete."""

    def __init__(self, read: Read) -> None:
        self._read = read
        self._decoder: codecs.IncrementalDecoder | None = None
        self._text, self._at, self._is_over = "", 0, False
        self._list: tuple[str, ...] | None = None
        self._said: dict[str, str] = {}
        self._columns = JsonColumns()
        self._timed: TimedRecords | None = None
        self._lines = self._records()
        self._left = b""
        self._is_empty = True
        self._hold = False  # whether what was passed is needed again
        self._stands_alone = False  # whether records stand one after another without a list
        self.truncated = False

    def read(self, count: int) -> bytes:
        """At most ``count`` bytes, b"" at the end. Raises Unreadable for what holds no one list of objects."""
        parts, size = [self._left], len(self._left)
        while size < count and (line := next(self._lines, b"")):
            parts.append(line)
            size += len(line)
        whole = b"".join(parts)
        self._left = whole[count:]
        return whole[:count]

    def _records(self) -> Iterator[bytes]:
        try:
            while self._peek():
                for line in self._value((), 0):
                    self._is_empty = False
                    yield line
        except _Ended:
            if self._columns.lists and self._list is None:
                raise _cut_off() from None
            self.truncated = True
            if rest := self._flat(self._text[self._at :][:LONGEST]):
                yield rest.encode(errors="replace")  # without a line end: its last line is cut off
            return
        except ValueError as error:
            raise _damaged() from error
        if self._list is not None and self._is_empty:
            raise _refuse("The list of this JSON document is empty", "see what the logger holds, and export it")
        if self._list is None and not self._stands_alone:
            if lines := self._columns.records(self._said):
                yield from lines
                return
            raise _refuse("This JSON document holds no list of objects, one for each time", "export the log so")

    def _value(self, path: tuple[str, ...], depth: int) -> Iterator[bytes]:
        """The records in what stands next."""
        sign = self._peek()
        if sign == "[" and self._is_list():
            if self._list is not None:
                names = " and ".join(f"“{'.'.join(p)[:40] or 'the first'}”" for p in (self._list, path))
                raise _refuse(
                    f"This JSON document holds more than one list of objects ({names})", "hand in one by itself"
                )
            self._list = path
            yield from self._elements()
        elif sign == "{" and depth == 0 and self._list is None and (lone := self._lone()):
            yield lone
        elif sign == "{" and depth < DEEPEST:
            yield from self._members(path, depth)
        elif sign == "[":
            self._values(self._columns.begin(path) if path and self._list is None else None)
        else:
            self._skip(path)

    def _lone(self) -> bytes:
        """An object that is a record by itself, followed by others; b"" for one that holds a list, or is alone."""
        start = self._at
        try:
            value = self._one()
            raw = self._text[start : self._at]
            self._hold = True
            is_record = isinstance(value, dict) and not _holds_list(value)
            if is_record and (self._stands_alone or self._peek() == "{"):
                self._stands_alone = True
                return self._line(raw, ())
        except _Ended:
            pass
        except ValueError:
            if self._stands_alone:
                self._at = start
                return self._broken_line()
        finally:
            self._hold = False
        self._at = start
        return b""

    def _broken_line(self) -> bytes:
        """Of records that stand alone the one that cannot be read, up to the line on which another begins."""
        while (end := _NEXT_LINE.search(self._text, self._at)) is None and len(self._text) - self._at < LONGEST:
            if not self._fill():
                raise _Ended
        if end is None:
            raise _damaged()
        raw, self._at = self._text[self._at : end.start()], end.end()
        return self._line(raw, ())

    def _members(self, path: tuple[str, ...], depth: int) -> Iterator[bytes]:
        self._take("{")
        while (sign := self._peek()) != "}":
            self._forget()
            if sign == ",":
                self._at += 1
                continue
            start, self._hold = self._at, True
            key = self._one()
            if not isinstance(key, str):
                raise _damaged()
            self._take(":")
            if self._peek() != "[" and is_time_key(key):
                yield self._of_time(path, key, start)
                continue
            self._hold = False
            yield from self._value((*path, key), depth + 1)
        self._take("}")

    def _of_time(self, path: tuple[str, ...], key: str, start: int) -> bytes:
        """What stands under a time. It begins at ``start`` with its key, and is complete where another sign follows."""
        at = self._at
        try:
            value = self._one()
            raw = self._text[at : self._at]
            if self._peek() not in (",", "}"):
                raise _Ended
        except _Ended:
            self._at = start
            raise
        finally:
            self._hold = False
        if self._timed is None and self._list is None:
            self._list, self._timed = path, TimedRecords(path, value)
        if self._timed is None or self._timed.path != path:
            raise two_tables((self._list or (), path))
        said = tuple(name for name in self._said if not isinstance(value, dict) or name not in value)
        return self._line(self._timed.record(key, value, raw), said)

    def _elements(self) -> Iterator[bytes]:
        self._take("[")
        while (sign := self._peek()) != "]":
            if sign == ",":
                self._at += 1
                continue
            self._forget()
            start = self._at
            try:
                value = self._one()
            except ValueError:
                yield self._broken()
                continue
            said = tuple(key for key in self._said if isinstance(value, dict) and key not in value)
            yield self._line(unkeyed(self._text[start : self._at], value), said)
        self._take("]")

    def _values(self, kept: KeptList | None) -> None:
        """A list that is none of objects: what of it may be a column, or rows, is put into ``kept``."""
        for count, sign in enumerate(self._steps()):
            cells = [self._raw() for _ in self._steps()] if sign == "[" else [self._raw()]
            if kept is not None:
                kept.add(cells, row=sign == "[")
                if count % PIECE == 0:
                    self._columns.watch()

    def _steps(self) -> Iterator[str]:
        """The first sign of each element of the list that begins here, which is passed before the next."""
        self._take("[")
        is_first = True
        while self._peek() != "]":
            if not is_first:
                self._take(",")
            sign = self._peek()
            self._forget()
            yield sign
            is_first = False
        self._take("]")

    def _raw(self) -> tuple[Any, str]:
        """The value that begins here, and how it is written."""
        start = self._at
        value = self._one()
        return value, self._flat(self._text[start : self._at])

    def _broken(self) -> bytes:
        """Up to the end of what cannot be read: it becomes a line that is named."""
        while (end := _NEXT.search(self._text, self._at)) is None and len(self._text) - self._at < LONGEST:
            if not self._fill():
                raise _Ended
        if end is None:
            raise _damaged()
        raw, self._at = self._text[self._at : end.start() + 1], end.end()
        return self._line(raw, ())

    def _line(self, raw: str, said: tuple[str, ...]) -> bytes:
        flat = self._flat(raw)
        if said:
            beside = ", ".join(f"{json.dumps(key)}: {json.dumps(self._said[key])}" for key in said)
            flat = f"{flat.rstrip()[:-1].rstrip()}{', ' if len(flat) > 2 else ''}{beside}}}"
        return f"{flat}\n".encode(errors="replace")

    @staticmethod
    def _flat(raw: str) -> str:
        """On one line. Line ends within texts are not JSON."""
        return _LINE_END.sub(" ", raw)

    def _skip(self, path: tuple[str, ...]) -> None:
        value = self._one()
        if path and isinstance(value, str) and self._list is None:
            told = is_serial_name(path[-1]) or zone_said_in(f"{path[-1]}: {value}") is not None
            if told and len(value) <= 60:
                self._said[path[-1]] = value

    # --- the text -----------------------------------------------------------------------------------------------------

    def _is_list(self) -> bool:
        """Whether the list that begins here is one of objects. An empty one is."""
        while not (found := _LIST.match(self._text, self._at)):
            if not self._fill():
                raise _Ended
            if len(self._text) - self._at > LONGEST:
                raise _damaged()
        return found[1] == "{" or (found[1] == "]" and self._at == 0)

    def _one(self) -> Any:
        """The value that begins here. Raises ValueError where there is none, _Ended where it goes on beyond the end."""
        while True:
            try:
                value, end = _DECODER.raw_decode(self._text, self._at)
            except RecursionError as error:
                raise ValueError("too deep") from error
            except json.JSONDecodeError as error:
                goes_on = error.msg.startswith("Unterminated") or error.pos >= len(self._text) - 16
                if not goes_on or len(self._text) - self._at > LONGEST:
                    raise
                if not self._fill():
                    if _NEXT.search(self._text, self._at):  # what is broken ends all the same
                        raise
                    raise _Ended from error
            else:
                if end + 4 < len(self._text) or not self._fill():  # a number may go on, behind ".", "e" or "e+", too
                    self._at = end
                    return value

    def _peek(self) -> str:
        """The next sign that is no blank; "" at the end of a document that is complete."""
        while True:
            self._at = _BLANK.match(self._text, self._at).end()  # type: ignore[union-attr]
            if self._at < len(self._text):
                return self._text[self._at]
            self._forget()
            if not self._fill():
                return ""

    def _take(self, sign: str) -> None:
        found = self._peek()
        if not found:
            raise _Ended
        if found != sign:
            raise _damaged()
        self._at += 1

    def _forget(self) -> None:
        """Lets go of what was passed, so that no more of a document is held than one record."""
        if self._at > PIECE and not self._hold:
            self._text, self._at = self._text[self._at :], 0

    def _fill(self) -> bool:
        """More text; False at the end."""
        if self._is_over:
            return False
        if len(self._text) > 4 * LONGEST:
            raise _damaged()
        piece = self._read(PIECE)
        if self._decoder is None:
            self._decoder = codecs.getincrementaldecoder(_encoding(piece))(errors="replace")
            piece_text = self._decoder.decode(piece, not piece).removeprefix("\ufeff")
        else:
            piece_text = self._decoder.decode(piece, not piece)
        self._is_over = not piece
        self._text += piece_text
        return bool(piece_text) or not self._is_over


def _refuse(what: str, way_out: str) -> Unreadable:
    text = f"{what}: {way_out}, as JSON lines, or as text (CSV)."
    return Unreadable(LogProblem(0, "", "", "not_a_log", text))


def _cut_off() -> Unreadable:
    text = (
        "This JSON document has a list for each column and ends before they are complete: no reading of it is whole. "
        "Copy it again."
    )
    return Unreadable(LogProblem(0, "", "", "broken_json", text))


def _damaged() -> Unreadable:
    return Unreadable(LogProblem(0, "", "", "broken_json", _DAMAGED))
