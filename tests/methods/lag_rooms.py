"""Rooms in which carbon dioxide rises and falls, for laying their logs on each other; and how often that finds what.

``python -m tests.methods.lag_rooms`` prints the table of docs/methods/clock.md.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from methods.clock import CommonLog, LagProposal, lag_proposals
from methods.quantities.durations import DAY_MS, MINUTE_MS

DAY = 1440
CAMPAIGNS, DAYS = 30, 40


def rooms(
    seed: int, count: int, days: int, *, common: bool = True, events: float = 8, interval: int = 1, bells: float = 0
) -> list[CommonLog]:
    """Carbon dioxide of ``count`` rooms: people come and go, windows are opened; each with a delay of some minutes, a
    scale, an air change and a meter of its own. Not ``common``: each has its own day; no ``events``: noise alone;
    ``bells``: things happen at full hours, with this share of them occupied, each hour anew."""
    rng = np.random.default_rng(seed)
    minutes = np.arange(days * DAY // interval) * interval

    def happens() -> tuple[np.ndarray, np.ndarray]:
        if bells:
            hours = (DAY * np.arange(days)[:, None] + 60 * np.arange(8, 17)).ravel().astype(float)
            return hours, np.where(rng.random(len(hours)) < bells, 1.0, 0.0)
        at = np.concatenate([d * DAY + np.sort(rng.uniform(420, 1140, rng.poisson(events))) for d in range(days)])
        return at, rng.choice([0.0, 0.3, 1.0, 1.6], len(at))

    def log(at: np.ndarray, level: np.ndarray) -> CommonLog:
        felt = at + rng.uniform(0, 8) + rng.normal(0, 1.5, len(at))
        level, rate = level * rng.uniform(0.6, 1.4, len(level)), interval / rng.uniform(40, 120)
        source = np.append(0.0, level)[np.searchsorted(np.sort(felt), minutes, side="right")]
        source[(minutes % DAY < 390) | (minutes % DAY > 1170)] = 0
        kernel = rate * (1 - rate) ** np.arange(600 // interval)
        size = 1 << int(len(source) + len(kernel)).bit_length()
        air = np.fft.irfft(np.fft.rfft(source, size) * np.fft.rfft(kernel, size), size)[: len(source)]
        shown = 420 + rng.uniform(200, 1500) * air + rng.normal(0, 12 / interval**0.5, len(air))
        return CommonLog(minutes * MINUTE_MS, np.round(shown))

    shared = happens()
    return [log(*(shared if common else happens())) for _ in range(count)]


def proposed(logs: list[CommonLog], days: int) -> list[LagProposal]:
    return lag_proposals(logs, np.arange(days + 1) * DAY_MS)


def off(log: CommonLog, minutes: int, day: int | None = None) -> CommonLog:
    """Its clock ahead by so much, on one day or on all."""
    utc = np.array(log.utc_ms)
    utc[... if day is None else utc // DAY_MS == day] += minutes * MINUTE_MS
    order = np.argsort(utc, kind="stable")
    return CommonLog(utc[order], np.asarray(log.values)[order])


def found_and_wrong(seed: int, count: int, days: int, minutes: int, day: int | None) -> tuple[bool, int]:
    """One campaign whose second meter is ``minutes`` off: whether that is proposed, and how many proposals are of
    something else."""
    logs = rooms(seed, count, days)
    logs[1] = off(logs[1], minutes, day)
    said = proposed(logs, days)
    right = [
        item
        for item in said
        if item.day == day and (item.log == 1 or item.either) and abs(abs(item.lag_ms) / MINUTE_MS - abs(minutes)) <= 10
    ]
    return bool(right), len(said) - len(right)


def table() -> None:
    """Shares of campaigns in which a lag is found, and of days on which one is proposed for nothing."""
    print(f"{CAMPAIGNS} campaigns a cell")
    for what, days, once in (("one day of 40", DAYS, True), ("all of 10 days", 10, False), ("the only day", 1, False)):
        for count in (2, 3, 5):
            runs = [
                found_and_wrong(100 * count + k, count, days, (60, -60, 120, 30)[k % 4], k % days if once else None)
                for k in range(CAMPAIGNS)
            ]
            wrong = sum(number for _, number in runs) / CAMPAIGNS / days
            print(f"{what}, {count} meters: found in {sum(hit for hit, _ in runs)}, others on {wrong:.2%} of days")
    nothing: dict[str, dict[str, Any]] = {
        "shared air": {},
        "each its own": {"common": False},
        "few changes": {"common": False, "events": 3},
        "noise": {"events": 0},
        "same hours, 6 of 10": {"common": False, "bells": 0.6},
        "same hours, 9 of 10": {"common": False, "bells": 0.9},
    }
    for name, kind in nothing.items():
        for count in (2, 5):
            said = sum(len(proposed(rooms(500 + k, count, DAYS, **kind), DAYS)) for k in range(CAMPAIGNS))
            print(f"{name}, {count} meters: proposed on {said / CAMPAIGNS / DAYS:.2%} of days")


if __name__ == "__main__":
    table()
