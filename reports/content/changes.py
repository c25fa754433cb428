"""What a revision says differently from the one before, from the two contents alone. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from methods.wording.results import place
from reports.content.findings import ReportedFinding
from reports.content.instruments import ReportedInstrument
from reports.content.limits import ReportedCriterion, ReportedLimit
from reports.content.record import ReportContent

Place = tuple[str, str]  # key of the zone, code of the limit

#: Parts of a content that are not told finding by finding, and what they are called.
ELSEWHERE: tuple[tuple[Callable[[ReportContent], Any], str], ...] = (
    (lambda content: content.site, "The site's particulars"),
    (lambda content: content.client, "The client's name"),
    (lambda content: content.organisation, "The name of the consultancy"),
    (lambda content: content.campaign, "The question, the protocol or the dates of the campaign"),
    (lambda content: content.levels, "The levels at which a result is called above or below"),
    (lambda content: content.outdoor, "The outdoor results"),
    (lambda content: content.clock_questions, "What is said of open questions about clocks"),
    (lambda content: content.agreed, "What is said of the agreement with the client"),
    (lambda content: content.alerts, "The alerts, or what was done about them"),
    (lambda content: content.undecided_logs, "The logs that wait for a decision"),
    (lambda content: content.quality, "What is said of quality control"),
    (lambda content: content.cautions, "The cautions"),
    (lambda content: content.judging, "The description of how it was judged"),
    (lambda content: content.method, "The version of the calculation"),
)


def changes(before: ReportContent, after: ReportContent) -> list[str]:
    """One sentence per difference, findings first, in the order of the later revision. Empty: both say the same."""
    said = [
        *_limits(before, after),
        *_findings(before, after),
        *_instruments(before, after),
        *_elsewhere(before, after),
    ]
    if not said and before.inputs_digest != after.inputs_digest:
        return ["The inputs of some results changed; no printed verdict or value did."]
    return said


def _limits(before: ReportContent, after: ReportContent) -> Iterator[str]:
    old, new = _criteria(before), _criteria(after)
    for code, limit in new.items():
        if code not in old:
            yield f"Added: the limit {_limit(limit)}."
        elif (old[code].value, old[code].statistic) != (limit.value, limit.statistic):
            yield f"The limit {_limit(old[code])} now reads {_limit(limit)}."
    for code, limit in old.items():
        if code not in new:
            yield f"No longer judged: the limit {_limit(limit)}."


def _findings(before: ReportContent, after: ReportContent) -> list[str]:
    """Changed verdicts first, then changed figures, then zones of which only other points changed."""
    old, new = _places(before), _places(after)
    limits, known = _criteria(after), _criteria(before)
    verdicts: list[str] = []
    figures: list[str] = []
    beside: list[str] = []
    for at, (zone, finding) in new.items():
        if at[1] not in known:
            continue  # the whole limit is new, and said so
        about = f"{zone}, {_limit(limits[at[1]])}" if len(limits) > 1 else zone
        if at not in old:
            verdicts.append(f"{about}: a new zone, {_told(finding)}.")
            continue
        former = old[at][1]
        if _told(former) != _told(finding):
            kept = _called(former) == _called(finding)
            lifted = (
                " It is no longer an indication." if _unsure(former) and finding.result and not _unsure(finding) else ""
            )
            said = f"{about}: {_told(former)} before, {_told(finding)} now.{lifted}"
            (figures if kept else verdicts).append(said)
        elif _points(former) != _points(finding):
            beside.append(f"{zone}: other points changed, but none that speaks for the zone.")
    gone = [f"{name}: no longer among the zones." for key, name in _zones(before).items() if key not in _zones(after)]
    return [*gone, *verdicts, *figures, *dict.fromkeys(beside)]


def _instruments(before: ReportContent, after: ReportContent) -> Iterator[str]:
    old, new = _meters(before), _meters(after)
    for serial in dict.fromkeys([*new, *old]):
        if old.get(serial) != new.get(serial):
            name = (new.get(serial) or old[serial]).name
            yield f"{name} ({serial}): {_what_changed(old.get(serial), new.get(serial))}."


def _what_changed(old: ReportedInstrument | None, new: ReportedInstrument | None) -> str:
    """Of an instrument: checks accepted or no longer so by name, all else in one piece."""
    if old is None:
        return "newly used"
    if new is None:
        return "no longer used"
    before, now = _acceptances(old), _acceptances(new)
    said = [f"{check} failed and was {words}" for check, words in now.items() if words and words != before.get(check)]
    said += [
        f"{check} failed and is no longer accepted" for check, words in before.items() if words and not now.get(check)
    ]
    if _without_acceptances(old) != _without_acceptances(new):
        said.append("what is said of its channels, calibration or checks changed")
    return "; ".join(said)


def _acceptances(instrument: ReportedInstrument) -> dict[str, str]:
    """What is said of who accepted each failed check, by the check."""
    return {
        f"the {check.kind.lower()} check of {channel.name.lower()} on {check.at}": check.accepted
        for channel in instrument.channels
        for check in channel.checks
        if check.failed
    }


def _without_acceptances(instrument: ReportedInstrument) -> ReportedInstrument:
    channels = tuple(
        replace(channel, checks=tuple(replace(check, accepted="") for check in channel.checks))
        for channel in instrument.channels
    )
    return replace(instrument, channels=channels)


def _meters(content: ReportContent) -> dict[str, ReportedInstrument]:
    """By serial number. How often one stood somewhere is told by the results."""
    return {instrument.serial: replace(instrument, visits=0) for instrument in content.instruments}


def _elsewhere(before: ReportContent, after: ReportContent) -> Iterator[str]:
    for part, name in ELSEWHERE:
        if part(before) != part(after):
            yield f"{name} changed."


def _criteria(content: ReportContent) -> dict[str, ReportedCriterion]:
    return {criterion.code: criterion for criterion in content.criteria}


def _limit(limit: ReportedLimit) -> str:
    return f"{limit.symbol} {limit.value}, {limit.statistic} ({limit.body})"


def _zones(content: ReportContent) -> dict[str, str]:
    return {zone.key: zone.name for zone in content.zones}


def _places(content: ReportContent) -> dict[Place, tuple[str, ReportedFinding]]:
    """(zone, limit) → (name of the zone, finding)."""
    codes = {criterion.ref: criterion.code for criterion in content.criteria}
    return {
        (zone.key, codes[finding.criterion]): (zone.name, finding)
        for zone in content.zones
        for finding in zone.findings
    }


def _called(finding: ReportedFinding) -> tuple[str, str, bool]:
    return finding.verdict, finding.word, _unsure(finding)


def _unsure(finding: ReportedFinding) -> bool:
    return bool(finding.result and finding.result.indication)


def _told(finding: ReportedFinding) -> str:
    """The finding in a few words: "above limit, an indication, at 0.19 ± 0.02 mg/m³ (Office 1.02)"."""
    result = finding.result
    if result is None:
        return finding.word
    beside = f", {result.indication}," if result.indication else ""
    return f"{finding.word}{beside} at {result.text} ({place(result.room, result.point)}, {result.when})"


def _points(finding: ReportedFinding) -> list[str]:
    return sorted(f"{r.room} {r.point} {r.text} {r.when} {r.indication}" for r in finding.others + finding.beside)
