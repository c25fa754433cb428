"""What was agreed with the client before the visit, and what was done otherwise."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReportedAgreement:
    """The version that counted, as it was accepted. limits: one in a line. use: times of use; acceptance: of quality
    control; a text each, empty where none was agreed. zones: what was to be measured, (name, where it is, points in
    words). first_day, last_day: ISO 8601 dates. offered, accepted: when, on the clock of the site; accepted_by: the
    name; recorded: who recorded an answer that was given otherwise, how and when, "" for one given by the client's own
    account. digest: SHA-256 of what was accepted."""

    version: int
    question: str
    decision: str
    limits: tuple[str, ...]
    rule: tuple[str, ...]
    levels: str
    errors: str
    undecided: str
    protocol: str
    parameters: tuple[str, ...]
    zones: tuple[tuple[str, str, str], ...]
    first_day: str
    last_day: str
    offered: str
    offered_by: str
    accepted: str
    accepted_by: str
    recorded: str
    digest: str
    use: tuple[str, ...] = ()
    acceptance: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReportedDeparture:
    """An item that was measured or judged otherwise than agreed."""

    item: str
    agreed: str
    used: str


@dataclass(frozen=True, slots=True)
class ReportedAgreed:
    """agreement: None where nothing was agreed. reason: why it was released with these departures, as ``by`` said
    ``at`` (as printed, on the clock of the site); "" where nothing departs, or nobody said yet."""

    agreement: ReportedAgreement | None
    departures: tuple[ReportedDeparture, ...]
    reason: str
    by: str
    at: str
