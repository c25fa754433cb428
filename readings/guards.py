"""What the database keeps of readings: a reading is never changed, and leaves its table only to stand aside."""

from __future__ import annotations

from collections.abc import Iterable

from campaigns.guards import Guard, frozen, never_emptied, stays
from readings.models import AsideReading, ClockQuestionLeft, Reading, SettingAside, TimelineStep

LIVE, ASIDE = Reading._meta.db_table, AsideReading._meta.db_table
#: Found by the key, then compared: PostgreSQL does not hash what is not joined by "=".
SAME = (
    "{0}.channel_id = OLD.channel_id AND {0}.stamp = OLD.stamp AND {0}.nth = OLD.nth "
    "AND {0}.flag IS NOT DISTINCT FROM OLD.flag AND {0}.upload_id IS NOT DISTINCT FROM OLD.upload_id "
    "AND {0}.line IS NOT DISTINCT FROM OLD.line AND {0}.raw IS NOT DISTINCT FROM OLD.raw"
)
#: The setting aside of its file, or of a stretch of its channel that was not taken back.
DECIDED = (
    "(s.upload_id = OLD.upload_id OR (s.channel_id = OLD.channel_id AND s.taken_back_at IS NULL "
    "AND OLD.stamp BETWEEN s.first_stamp_ms AND s.last_stamp_ms))"
)
_ASIDE = "EXISTS (SELECT 1 FROM readings_settingaside s JOIN readings_asidereading a ON a.setting_aside_id = s.id WHERE"
#: It stands aside, as it is, by such a decision.
STANDS_ASIDE = f"{_ASIDE} {SAME.format('a')} AND {DECIDED})"
#: The same of a reading that stands aside already: with its file, and not where it stands.
WITH_FILE_INSTEAD = f"{_ASIDE} {SAME.format('a')} AND s.upload_id = OLD.upload_id AND s.id <> OLD.setting_aside_id)"
BACK = f"EXISTS (SELECT 1 FROM readings_reading r WHERE {SAME.format('r')})"  # noqa: S608


def guards() -> Iterable[Guard]:
    yield Guard(f"{LIVE}_never_changes", LIVE, "UPDATE")
    yield Guard(f"{LIVE}_goes_aside", LIVE, "DELETE", f"NOT {STANDS_ASIDE}", by_statement=True)
    yield Guard(f"{ASIDE}_never_changes", ASIDE, "UPDATE")
    leaves = f"NOT {BACK} AND NOT {WITH_FILE_INSTEAD}"
    yield Guard(f"{ASIDE}_comes_back", ASIDE, "DELETE", leaves, by_statement=True)
    yield from map(never_emptied, (LIVE, ASIDE))
    yield frozen(
        SettingAside,
        once=["done_at", "taken_back_at", "taken_back_by"], forgotten=["by", "taken_back_by"], free=["count"],
    )  # fmt: skip
    held = "EXISTS (SELECT 1 FROM readings_asidereading a WHERE a.setting_aside_id = OLD.id)"
    yield from stays(SettingAside, unless=f"NOT {held}")
    yield frozen(TimelineStep, forgotten=["by"], free=["undone_at", "undone_by"])
    yield frozen(ClockQuestionLeft)
