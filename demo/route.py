"""Where the three meters and two loggers went: the planned route and the visits as written up.

Pure. Clock times in the tables are the site's own (summer time); everything handed out is UTC.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from demo.building import TIME_ZONE
from demo.shapes import DemoStop, DemoVisit

ZONE = ZoneInfo(TIME_ZONE)

_Leg = tuple[str, int, str, str]  # start, minutes, point, notes

#: Meter A is switched off between rooms to save its battery, so it warms up again in every one.
#: B and C are switched on for the morning and for the afternoon.
_LEGS: dict[tuple[str, int], tuple[_Leg, ...]] = {
    ("A", 14): (
        ("08:31", 40, "out", "Dry, light wind, 14 °C. North lawn."),
        ("09:16", 70, "0.01", "Windows shut since yesterday 18:00. Children in the garden."),
        ("10:31", 43, "0.02", "Windows shut. New play furniture along the west wall."),
        ("11:19", 42, "0.03", ""),
        ("13:03", 44, "0.04", "Door to the corridor open for about 5 min."),
        ("13:53", 42, "0.06", "Cooking finished at 12:30, extract hood off."),
        ("14:41", 41, "0.07", "Coats drying."),
        ("15:28", 43, "0.08", ""),
        ("16:17", 41, "out", "Dry, a little more wind."),
    ),
    ("A", 15): (
        ("08:27", 45, "2.07", "Two machines, both printing."),
        ("09:19", 68, "2.08", "Flat-pack furniture, unpacked last week."),
        ("10:33", 44, "2.09", ""),
        ("11:24", 42, "1.07", "Side by side with meter C, inlets 20 cm apart."),
        ("13:05", 45, "0.06-cab", "Doors taped around the tube."),
        ("13:57", 41, "0.05", "Empty, cots folded. Beside logger 2."),
        ("14:45", 43, "1.03", "Second visit with this meter; meter C was here yesterday."),
        ("15:36", 42, "2.07", "Repeat; machines idle."),
        ("16:24", 36, "out", ""),
    ),
    ("B", 14): (
        ("08:34", 36, "out", "Outdoor air on a second instrument."),
        ("09:16", 40, "2.01", ""),
        ("10:01", 38, "2.02", ""),
        ("10:44", 38, "2.04", ""),
        ("11:27", 40, "2.05", ""),
        ("13:02", 68, "2.03", "Old linoleum, steel furniture."),
        ("14:15", 40, "2.06", "Window tilted on arrival, shut 10 min before."),
        ("15:00", 40, "3.06", "Lunch service over."),
        ("15:45", 38, "3.07", ""),
        ("16:28", 38, "3.08", ""),
    ),
    ("B", 15): (
        ("08:34", 41, "3.09", ""),
        ("09:20", 70, "3.01", "West desks. Painted in August."),
        ("10:34", 42, "3.01b", "East desks."),
        ("11:20", 43, "3.02", "Glue and card models on the benches."),
        ("13:04", 42, "3.03", ""),
        ("13:51", 41, "3.04", ""),
        ("14:37", 43, "3.05", ""),
        ("15:26", 40, "2.03", "Repeat of yesterday's point."),
        ("16:12", 38, "3.02", "Repeat."),
    ),
    ("C", 14): (
        ("08:29", 42, "1.01", "New carpet and desks since 3 August."),
        ("09:15", 72, "1.02", "Smell noticed on entering."),
        ("10:31", 41, "1.03", "Smell noticed on entering."),
        ("11:16", 43, "1.04", "Beside logger 1. Three people at work."),
        ("13:01", 45, "1.05", ""),
        ("13:50", 42, "1.06", ""),
        ("14:38", 42, "1.07", "No meeting since the morning."),
        ("15:24", 40, "1.08", ""),
    ),
    ("C", 15): (
        ("08:31", 70, "1.09", ""),
        ("09:46", 42, "1.10", "Very small; door kept shut."),
        ("10:35", 40, "0.06-cab", "Doors taped around the tube. Display flashed its upper end."),
        ("11:24", 42, "1.07", "Side by side with meter A, inlets 20 cm apart."),
        ("13:03", 43, "1.02", "Repeat of yesterday's point."),
        ("13:52", 42, "1.05", "Repeat."),
    ),
}

#: Logger deployments: start day, start, end day, end, point, notes.
_LOGGERS: dict[str, tuple[int, str, int, str, str, str]] = {
    "L1": (14, "08:10", 16, "16:20", "1.04", "On the shelf by the door, 1.2 m. Three people in the room by day."),
    "L2": (14, "08:50", 16, "09:40", "0.05", "On the changing table. Alcohol wipes used daily before the midday nap."),
}

#: Planned for meter C on its second afternoon, and not done.
_SKIPPED = ("15:00", "3.10"), ("15:45", "3.11"), ("16:30", "3.12"), ("17:15", "3.13")
_WHY = "Archive locked; the key holder did not come."

#: When each day's halves were switched on for the meters that stay on.
_SWITCHED_ON = {"B": ("08:10", "12:52"), "C": ("08:07", "12:50")}
_NOON = "12:30"


def local(day: int, clock: str) -> datetime:
    """The UTC time of a local clock time on a day of September 2026."""
    hour, minute = (int(part) for part in clock.split(":"))
    return datetime(2026, 9, day, hour, minute, tzinfo=ZONE).astimezone(UTC)


def _switched_on(instrument: str, day: int, start: str) -> datetime:
    halves = _SWITCHED_ON.get(instrument)
    if halves is None:
        return local(day, start)
    return local(day, halves[0] if start < _NOON else halves[1])


def visits() -> tuple[DemoVisit, ...]:
    """Every deployment that took place, meters first."""
    rows = [
        DemoVisit(
            key=f"{instrument}-{day}-{order:02d}",
            instrument=instrument,
            point=point,
            start=local(day, start),
            end=local(day, start) + timedelta(minutes=minutes),
            switched_on=_switched_on(instrument, day, start),
            notes=notes,
        )
        for (instrument, day), legs in _LEGS.items()
        for order, (start, minutes, point, notes) in enumerate(legs, start=1)
    ]
    for instrument, (day, start, last_day, end, point, notes) in _LOGGERS.items():
        begin = local(day, start)
        switched_on = begin - timedelta(minutes=30)
        rows.append(DemoVisit(f"{instrument}-01", instrument, point, begin, local(last_day, end), switched_on, notes))
    return tuple(rows)


def route() -> tuple[DemoStop, ...]:
    """The route as planned beforehand: starts on the quarter hour, 40 or 65 minutes a stop, the archive included."""
    planned: list[tuple[datetime, str, str, int, str]] = []
    for visit in visits():
        minutes = round((visit.end - visit.start).total_seconds() / 60)
        start = visit.start - timedelta(minutes=visit.start.minute % 15)
        usual = minutes if visit.instrument.startswith("L") else 65 if minutes > 60 else 40
        planned.append((start, visit.instrument, visit.point, usual, ""))
    planned += [(local(15, start), "C", point, 40, _WHY) for start, point in _SKIPPED]
    return tuple(
        DemoStop(order, instrument, point, start, minutes, skipped)
        for order, (start, instrument, point, minutes, skipped) in enumerate(sorted(planned), start=1)
    )
