"""Formats of a stored report, and the way from an older one to the one that is read. Pure.

A report is kept as it was signed, whatever becomes of the record's types. Whoever changes them raises ``FORMAT`` and
adds to ``UPGRADERS`` how a content of the former format is told in the new one: a function of the stored JSON object,
which returns another one and leaves its argument alone. It adds nothing that was not signed: what the old format did
not keep is None or empty. The digest stays that of the stored object.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any

from methods.verdicts.comparability import ComparabilityState
from methods.wording.results import INDICATION
from methods.wording.summary import indications

#: Of the contents that are made now. Formats before 4 were never released, so nothing reads them.
FORMAT = 11

Stored = dict[str, Any]
Upgrader = Callable[[Stored], Stored]


def _meters(stored: Stored) -> Stored:
    """4 → 5: which checks failed, who accepted them, what contradicts a certificate, and what rests on it."""
    instruments = [
        instrument
        | {
            "channels": [
                channel
                | {
                    "checks": [check | {"failed": None, "accepted": ""} for check in channel["checks"]],
                    "contradictions": [],
                }
                for channel in instrument["channels"]
            ]
        }
        for instrument in stored["instruments"]
    ]
    told: Stored = _with_evidence(stored)
    return told | {"instruments": instruments, "meters": []}


def _with_evidence(part: Any) -> Any:
    """The same, with nothing said of the meter behind each result: what has a chain is one."""
    if isinstance(part, list):
        return [_with_evidence(each) for each in part]
    if not isinstance(part, dict):
        return part
    told = {name: _with_evidence(value) for name, value in part.items()}
    return told | {"evidence": ""} if "chain" in part else told


def _without_clock_questions(stored: Stored) -> Stored:
    """5 → 6: there were none: release did not ask about them."""
    return {**stored, "clock_questions": []}


def _without_agreement(stored: Stored) -> Stored:
    """6 → 7: what was agreed before the visit was not kept."""
    return {**stored, "agreed": None}


def _without_alerts(stored: Stored) -> Stored:
    """7 → 8: there were none: a campaign had no alert levels."""
    return {**stored, "alerts": []}


def _without_quality(stored: Stored) -> Stored:
    """8 → 9: nothing was said of quality control."""
    return {**stored, "quality": {"rows": [], "disagreements": [], "detection": []}}


def _indications(stored: Stored) -> Stored:
    """9 → 10: beside each verdict and each count of verdicts whether it is an indication. That was signed of what
    speaks for a zone, and kept of no other point. Who accepted a failed check stood among its reasons alone."""
    told: Stored = _with_indication(stored)
    zones = [zone for building in told["buildings"] for floor in building["floors"] for zone in floor["zones"]]
    unsure = Counter(
        (finding["criterion"], finding["verdict"], finding["word"])
        for zone in zones
        for finding in zone["findings"]
        if finding["result"] and finding["result"]["indication"]
    )
    criteria = [
        criterion
        | {
            "tally": [
                row | {"indication": indications(unsure[criterion["ref"], row["verdict"], row["word"]], row["count"])}
                for row in criterion["tally"]
            ]
        }
        for criterion in told["criteria"]
    ]
    return told | {"criteria": criteria}


def _with_indication(part: Any) -> Any:
    """The same, with what stands beside the verdict of each result: what has a chain is one."""
    if isinstance(part, list):
        return [_with_indication(each) for each in part]
    if not isinstance(part, dict):
        return part
    told = {name: _with_indication(value) for name, value in part.items()}
    indicative = part.get("comparability") == ComparabilityState.INDICATIVE.word
    beside = {"indication": INDICATION if indicative else "", "accepted": "", "calibration": ""}
    return told | beside if "chain" in part else told


def _without_agreed_quality(stored: Stored) -> Stored:
    """10 → 11: of an agreement neither times of use nor acceptance limits were printed."""
    agreed = stored["agreed"]
    if agreed and agreed["agreement"]:
        agreed = {**agreed, "agreement": {**agreed["agreement"], "use": [], "acceptance": []}}
    return {**stored, "agreed": agreed, "undecided_logs": []}


#: By the format it starts from; each leads to the next one.
UPGRADERS: Mapping[int, Upgrader] = {
    4: _meters,
    5: _without_clock_questions,
    6: _without_agreement,
    7: _without_alerts,
    8: _without_quality,
    9: _indications,
    10: _without_agreed_quality,
}


class UnreadableFormat(ValueError):
    """A stored report of a format that this version of the program does not know. Says which, for the operator."""


def upgraded(stored: Stored, *, upgraders: Mapping[int, Upgrader] = UPGRADERS, newest: int = FORMAT) -> Stored:
    """``stored`` in the newest format, through each upgrader in turn. Raises UnreadableFormat, also for no object."""
    if not isinstance(stored, dict) or type(number := stored.get("format")) is not int:
        raise UnreadableFormat("This report does not say in which format it is.")
    if number > newest:
        raise UnreadableFormat(
            f"This report is of format {number}. This version of the program reads formats up to {newest}: a newer one "
            "has written it."
        )
    for step in range(number, newest):
        if step not in upgraders:
            raise UnreadableFormat(
                f"This report is of format {number}, which this version of the program does not read."
            )
        stored = {**upgraders[step](stored), "format": step + 1}
    return stored
