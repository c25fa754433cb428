"""Headings that are the hours of a day."""

from __future__ import annotations

import re
from collections.abc import Sequence

HOURS = 24
#: 7, 07, 07:00, 7h, 07:00:00, H07, Hour 7, 7 Uhr, 07-08, 07:00-08:00: the first number tells.
_LABEL = re.compile(
    r"(?:h|hr|hour|std\.?|stunde|heure|hora|ora|uur)?[\s_.]*(?P<hour>\d{1,2})(?:[:.]00){0,2}\s?(?:h|uhr)?"
    r"(?:\s?[-–]\s?(?P<to>\d{1,2})(?:[:.]00){0,2}\s?(?:h|uhr)?)?",
    re.IGNORECASE,
)


def hours_in(row: Sequence[str]) -> dict[int, int]:
    """The hour of each column, where 24 neighbours are headed 0 to 23 or 1 to 24; empty where they are not."""
    if len(row) < HOURS:
        return {}
    matches = [_LABEL.fullmatch(cell.strip()) if cell.strip() else None for cell in row]
    numbers = [int(match["hour"]) if match else -1 for match in matches]
    for first in range(len(row) - HOURS + 1):
        run = numbers[first : first + HOURS]
        if run[0] in (0, 1) and run == list(range(run[0], run[0] + HOURS)):
            return {first + n: hour for n, hour in enumerate(run)}
    return {}
