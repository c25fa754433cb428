"""Alerts of a campaign as a report tells them. Times are on the clock of the site."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReportedAlert:
    """A level was reached. value: the highest, in ``unit``; said: as printed. lasting: for how long, in words. place:
    "" where nobody knew it. basis: as stored, corrected or typed. standing: "" where the readings still say so, else
    what became of them. told: to whom a mail went and when, or that none did. acknowledged: when and by whom, ""
    where nobody did. closed: when and by whom, "" while it is open; reason: why."""

    parameter: str
    level: str
    value: float
    unit: str
    said: str
    reached: str
    lasting: str
    place: str
    instrument: str
    serial: str
    basis: str
    standing: str
    told: tuple[str, ...]
    acknowledged: str
    done: str
    closed: str
    reason: str

    @property
    def is_open(self) -> bool:
        return not self.closed
