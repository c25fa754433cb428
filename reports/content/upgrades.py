"""Formats of a stored report, and the way from an older one to the one that is read. Pure.

A report is kept as it was signed, whatever becomes of the record's types. Whoever changes them raises ``FORMAT`` and
adds to ``UPGRADERS`` how a content of the former format is told in the new one: a function of the stored JSON object,
which returns another one and leaves its argument alone. It adds nothing that was not signed: what the old format did
not keep is None or empty. The digest stays that of the stored object.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

#: Of the contents that are made now. Formats before 4 were never released, so nothing reads them.
FORMAT = 5

Stored = dict[str, Any]
Upgrader = Callable[[Stored], Stored]


def _without_clock_questions(stored: Stored) -> Stored:
    """Format 4 kept none: release did not ask about them."""
    return {**stored, "clock_questions": []}


#: By the format it starts from; each leads to the next one.
UPGRADERS: Mapping[int, Upgrader] = {4: _without_clock_questions}


class UnreadableFormat(ValueError):
    """A stored report of a format that this version of the program does not know. Says which, for the operator."""


def upgraded(stored: Stored, *, upgraders: Mapping[int, Upgrader] = UPGRADERS, newest: int = FORMAT) -> Stored:
    """``stored`` in the newest format, through each upgrader in turn. Raises UnreadableFormat, also for no object."""
    if not isinstance(stored, dict) or type(number := stored.get("format")) is not int:
        raise UnreadableFormat("This report does not say in which format it is.")
    if number > newest:
        raise UnreadableFormat(
            f"This report is of format {number}. This version of the program reads formats up to {newest}: a newer one "
            "has written it."
        )
    for step in range(number, newest):
        if step not in upgraders:
            raise UnreadableFormat(
                f"This report is of format {number}, which this version of the program does not read."
            )
        stored = {**upgraders[step](stored), "format": step + 1}
    return stored
