"""What the database keeps of planning and of the history."""

from __future__ import annotations

from collections.abc import Iterable

from auditlog.models import LogEntry

from campaigns.guards.rules import Guard, frozen, stays
from campaigns.models import Deployment

# Django stores times in SQLite as text, 'YYYY-MM-DD hh:mm:ss' with '.ffffff' only where there are microseconds, so two
# texts compare as the times do, except that a time without fraction sorts before the same second with one - as it
# should.
ONE_PLACE = """EXISTS (
    SELECT 1 FROM campaigns_deployment other
    WHERE other.instrument_id = NEW.instrument_id AND other.id IS DISTINCT FROM NEW.id
      AND (other.ends_at IS NULL OR other.ends_at > NEW.starts_at)
      AND (NEW.ends_at IS NULL OR other.starts_at < NEW.ends_at)
)"""


def guards() -> Iterable[Guard]:
    yield frozen(LogEntry, forgotten=["actor"])
    yield from stays(LogEntry)
    yield from one_place()


def one_place() -> Iterable[Guard]:
    """On PostgreSQL an exclusion constraint does it."""
    table = Deployment._meta.db_table
    for event in ("INSERT", "UPDATE"):
        yield Guard(Deployment.ONE_PLACE, table, event, ONE_PLACE, vendor="sqlite")
