"""What the database keeps of planning, of what was agreed, and of the history."""

from __future__ import annotations

from collections.abc import Iterable

from auditlog.models import LogEntry

from campaigns.guards.rules import STAYS, Guard, changed, frozen, stays
from campaigns.models import AcceptanceLimit, Agreement, Deployment, User

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
    yield from agreed()
    yield frozen(AcceptanceLimit, forgotten=["by"])
    yield account_of_one_house()
    yield from one_place()


def agreed() -> Iterable[Guard]:
    """What was offered to a client stays as it was offered, and an answer as it was given."""
    answer = ["answered_at", "answered_name", "answered_by", "answered_how", "recorded_at", "comment"]
    offered = "OLD.offered_at IS NOT NULL"
    yield frozen(Agreement, once=answer, free=["state"], when=offered)
    yield from stays(Agreement, unless=f"NOT ({offered})")


def account_of_one_house() -> Guard:
    """An account belongs to the house that made it; the operator's may be given to one."""
    table = User._meta.db_table
    refuse = f"OLD.house_id IS NOT NULL AND {changed('house_id')}"
    return Guard(f"{table}_stays_in_house", table, "UPDATE", refuse, ("house_id",), message=STAYS)


def one_place() -> Iterable[Guard]:
    """On PostgreSQL an exclusion constraint does it."""
    table = Deployment._meta.db_table
    for event in ("INSERT", "UPDATE"):
        yield Guard(Deployment.ONE_PLACE, table, event, ONE_PLACE, vendor="sqlite")
