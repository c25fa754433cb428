"""The SQL of guards, for each database: triggers, and on PostgreSQL the functions they call."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from campaigns.guards.rules import Guard

#: How the names of all of them begin, so that they are known for ours.
PREFIX = "guard_"

ROW = """
CREATE FUNCTION {trigger}() RETURNS trigger LANGUAGE plpgsql AS $guard$
BEGIN
  IF {refuse} THEN
    RAISE EXCEPTION '{name}' USING ERRCODE = 'check_violation', CONSTRAINT = '{name}', TABLE = TG_TABLE_NAME;
  END IF;
  RETURN {row};
END $guard$"""
ROW_TRIGGER = "CREATE TRIGGER {trigger} BEFORE {event} ON {table} FOR EACH ROW EXECUTE FUNCTION {trigger}()"
# Planned anew each time, for so many rows as go, and counted, because none is what is expected.
GONE = """
CREATE FUNCTION {trigger}() RETURNS trigger LANGUAGE plpgsql SET work_mem = '64MB' AS $guard$
DECLARE refused boolean;
BEGIN
  EXECUTE $asked$SELECT count(*) > 0 FROM gone WHERE {refuse}$asked$ INTO refused;
  IF refused THEN
    RAISE EXCEPTION '{name}' USING ERRCODE = 'check_violation', CONSTRAINT = '{name}', TABLE = TG_TABLE_NAME;
  END IF;
  RETURN NULL;
END $guard$"""
GONE_TRIGGER = (
    "CREATE TRIGGER {trigger} AFTER {event} ON {table} REFERENCING OLD TABLE AS gone "
    "FOR EACH STATEMENT EXECUTE FUNCTION {trigger}()"
)
WHOLE_TRIGGER = "CREATE TRIGGER {trigger} BEFORE {event} ON {table} FOR EACH STATEMENT EXECUTE FUNCTION {trigger}()"
SQLITE = "CREATE TRIGGER {trigger} BEFORE {event} ON {table} WHEN {refuse} BEGIN SELECT RAISE(ABORT, '{name}'); END"


def trigger_of(guard: Guard, vendor: str) -> str:
    """Its name in the database, of at most 63 letters: another one for whatever else a guard says, so that one of an
    earlier version is known."""
    said = "".join([*_function(guard, "x"), *_trigger(guard, "x", guard.table, vendor), vendor])
    return f"{PREFIX}{guard.name[:48]}_{hashlib.sha256(said.encode()).hexdigest()[:8]}"


def statements(guard: Guard, vendor: str, parts: Iterable[str] = ()) -> list[str]:
    """What makes it. ``parts``: tables that hold the rows of a partitioned one; what looks at whole statements stands
    on each of them, what looks at rows is handed down by PostgreSQL."""
    trigger = trigger_of(guard, vendor)
    if vendor != "postgresql":
        return _trigger(guard, trigger, guard.table, vendor)
    made = [*_function(guard, trigger), *_trigger(guard, trigger, guard.table, vendor)]
    if guard.of_statements:
        made += [sql for part in parts for sql in _trigger(guard, trigger, part, vendor)]
    return made


def _function(guard: Guard, trigger: str) -> list[str]:
    if guard.by_statement:
        return [GONE.format(trigger=trigger, name=guard.name, refuse=guard.refuse.replace("OLD.", "gone."))]
    row = {"DELETE": "OLD", "TRUNCATE": "NULL"}.get(guard.event, "NEW")
    return [ROW.format(trigger=trigger, name=guard.name, refuse=guard.refuse, row=row)]


def _trigger(guard: Guard, trigger: str, table: str, vendor: str) -> list[str]:
    event = f"{guard.event} OF {', '.join(guard.columns)}" if guard.columns else guard.event
    if vendor != "postgresql":
        refuse = guard.refuse.replace("IS NOT DISTINCT FROM", "IS").replace("IS DISTINCT FROM", "IS NOT")
        return [SQLITE.format(trigger=trigger, event=event, table=table, refuse=refuse, name=guard.name)]
    form = WHOLE_TRIGGER if guard.event == "TRUNCATE" else GONE_TRIGGER if guard.by_statement else ROW_TRIGGER
    return [form.format(trigger=trigger, event=event, table=table)]
