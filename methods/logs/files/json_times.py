"""JSON objects whose keys are times: ``{"2026-09-15T08:00:00": {"co2": 612}, …}``, or with one number for each time."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from itertools import islice
from typing import Any

from methods.logs.sketch import has_moment
from methods.logs.types import LogProblem, Unreadable

#: The first keys of an object; what it says of itself may stand before the times.
_FIRST = 20
#: Seconds and milliseconds since 1970.
_COUNT = re.compile(r"1\d{9}(?:\d{3})?")
_KEY = re.compile(r'[{,]\s*("(?:[^"\\]|\\.){4,60}")\s*:\s*(?=[^\s\[])')
_ONE_KEY = re.compile(r'\{\s*"(?:[^"\\]|\\.)*"\s*:\s*')


def is_time_key(key: str) -> bool:
    return _COUNT.fullmatch(key) is not None or has_moment(key)


def holds_times(value: Any, depth: int) -> bool:
    """Whether the keys of an object are times, or those of an object in it."""
    if not isinstance(value, dict):
        return False
    timed = any(is_time_key(key) and not isinstance(inner, list) for key, inner in islice(value.items(), _FIRST))
    return timed or (depth > 0 and any(holds_times(inner, depth - 1) for inner in value.values()))


def begins_with_times(text: str) -> bool:
    """The same of the beginning of an object that goes on."""
    return any(is_time_key(key[1].strip('"')) for key in islice(_KEY.finditer(text), _FIRST))


class TimedRecords:
    """Makes one object of a key and what stands under it. ``path`` leads to the object of the times."""

    def __init__(self, path: Sequence[str], first: Any) -> None:
        self.path = tuple(path)
        names = first if isinstance(first, dict) else ()
        self._time = next(name for name in ("time", "timestamp", "time key") if name not in names)
        self._value = path[-1] if path else "value"

    def record(self, key: str, value: Any, raw: str) -> str:
        """``raw`` is how ``value`` is written."""
        head = f"{{{json.dumps(self._time)}: {json.dumps(key)}"
        if isinstance(value, dict):
            return f"{head}{', ' if value else ''}{raw.lstrip()[1:]}"
        return f"{head}, {json.dumps(self._value)}: {raw}}}"


def unkeyed(raw: str, value: Any) -> str:
    """An element of a list that is one time and what stands under it, as a record; any other as it is."""
    key, inner = next(iter(value.items())) if isinstance(value, dict) and len(value) == 1 else ("", None)
    head = _ONE_KEY.match(raw) if is_time_key(key) and not isinstance(inner, list) else None
    if head is None:
        return raw
    return TimedRecords((), inner).record(key, inner, raw[head.end() :].rstrip()[:-1])


def two_tables(paths: Sequence[Sequence[str]]) -> Unreadable:
    names = " and ".join(f"“{'.'.join(path)[:40] or 'the first'}”" for path in paths)
    text = (
        f"This JSON document holds more than one object with times for its keys, or one beside a list ({names}): hand "
        "in one by itself, or export the log as JSON lines, one object for each time, or as text (CSV)."
    )
    return Unreadable(LogProblem(0, "", "", "not_a_log", text))
