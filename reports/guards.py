"""What the database keeps of reports: what was signed is never changed, and what was released never deleted."""

from __future__ import annotations

from collections.abc import Iterable

from campaigns.guards import Guard, frozen, stays
from reports.models import Report

#: Set after it was signed, each once. Every other column, also one to come, stays as it was signed.
SET_LATER = ("released_at", "withdrawn_at", "pdf")


def guards() -> Iterable[Guard]:
    yield frozen(Report, once=SET_LATER)
    yield from stays(Report, unless="OLD.released_at IS NULL")
