"""What the database keeps of reports: what was signed is never changed, and what was released never deleted."""

from __future__ import annotations

from collections.abc import Iterable

from campaigns.guards import Guard, frozen, stays
from reports.models import Report

#: Set after it was signed, each once. Every other column, also one to come, stays as it was signed.
SET_LATER = ("released_at", "withdrawn_at", "withdrawal_reason", "pdf")
#: Of a file that is set anew from what was signed when it is gone, or another than was set.
SET_ANEW = ("pdf_sha256",)


def guards() -> Iterable[Guard]:
    yield frozen(Report, once=SET_LATER, free=SET_ANEW)
    table = Report._meta.db_table
    refuse = " OR ".join(f"(OLD.{column} <> '' AND NEW.{column} = '')" for column in SET_ANEW)
    yield Guard(f"{table}_keeps_its_digest", table, "UPDATE", refuse, SET_ANEW)
    yield from stays(Report, unless="OLD.released_at IS NULL")
