"""Checks outside their tolerance on which readings rest, in words: which, and who accepted what rests on them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from methods.correction.drift_uncertainty import FailedCheck, failed_during
from methods.quantities.moments import utc_moment, utc_ms
from methods.wording.numbers import minute
from readings.queries import Placed


@dataclass(frozen=True, slots=True)
class FailedChecks:
    """``unaccepted``, ``accepted``: a sentence for each check; empty where there is none. ``dead``: those at which a
    meter did not answer, whoever accepted them."""

    unaccepted: tuple[str, ...] = ()
    accepted: tuple[str, ...] = ()
    dead: tuple[str, ...] = ()

    def with_those_of(self, other: FailedChecks) -> FailedChecks:
        """Each once, where one instrument measured indoors and outdoors."""
        return FailedChecks(
            tuple(dict.fromkeys(self.unaccepted + other.unaccepted)),
            tuple(dict.fromkeys(self.accepted + other.accepted)),
            tuple(dict.fromkeys(self.dead + other.dead)),
        )


def failed_checks(stretches: Iterable[tuple[Placed, int, int]]) -> FailedChecks:
    """Of readings of several instruments, each with the UTC ms of its first and last reading; every check once."""
    unaccepted, accepted, dead = [], [], []
    for placed, first_ms, last_ms in stretches:
        if not placed.corrected.has_failed_checks:
            continue
        for check in failed_during(placed.corrected.periods, first_ms, last_ms):
            if check.dead:
                dead.append(f"{_words(placed, check)}: the meter did not answer to the gas.")
            elif check.accepted:
                accepted.append(f"{_words(placed, check)}; {_acceptance(placed, check)}.")
            else:
                unaccepted.append(f"{_words(placed, check)}.")
    return FailedChecks(*(tuple(dict.fromkeys(each)) for each in (unaccepted, accepted, dead)))


def _words(placed: Placed, check: FailedCheck) -> str:
    at = minute(utc_moment(check.at_ms), placed.deployment.campaign.site.zone_info)
    return f"The {check.kind} check of {placed.deployment.instrument} on {at} failed"


def _acceptance(placed: Placed, check: FailedCheck) -> str:
    rows = (row for row in placed.channel.field_checks.all() if row.kind == check.kind and row.is_accepted)
    return next((row.acceptance for row in rows if utc_ms(row.at) == check.at_ms), "accepted")
