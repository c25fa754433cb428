"""Results of meters whose calibration was overdue when they measured: said beside each, and of each meter once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from methods.wording.meters import overdue, overdue_words
from methods.wording.numbers import mid_sentence
from reports.content.findings import OutdoorResults, PointResult, ReportedFinding
from reports.content.instruments import ReportedInstrument
from reports.content.places import ReportedBuilding

Held = TypeVar("Held", bound=PointResult)


@dataclass(frozen=True, slots=True)
class OverdueChannel:
    """A channel whose calibration in force on its last day was due before. due: ISO 8601."""

    instrument: str
    name: str
    due: str


class OverdueMarks:
    """Marks results by the serial number of their instrument and what their criterion is about; counts them."""

    def __init__(self, instruments: Iterable[ReportedInstrument], parameters: Mapping[str, str]) -> None:
        """``parameters``: by the name of a criterion, its substance."""
        self.parameters, self.total = parameters, 0
        self.counts: Counter[OverdueChannel] = Counter()
        self.channels = {
            (instrument.serial, channel.parameter): OverdueChannel(
                instrument.name, mid_sentence(channel.name), channel.calibration.due
            )
            for instrument in instruments
            for channel in instrument.channels
            if channel.calibration is not None and channel.calibration.overdue
        }

    def buildings(self, buildings: Iterable[ReportedBuilding]) -> tuple[ReportedBuilding, ...]:
        return tuple(
            replace(
                building,
                floors=tuple(
                    replace(
                        floor,
                        zones=tuple(
                            replace(zone, findings=tuple(self._finding(finding) for finding in zone.findings))
                            for zone in floor.zones
                        ),
                    )
                    for floor in building.floors
                ),
            )
            for building in buildings
        )

    def outdoor(self, groups: Iterable[OutdoorResults]) -> tuple[OutdoorResults, ...]:
        return tuple(replace(g, results=self._marked(g.results, g.criterion)) for g in groups)

    def sentences(self) -> Iterator[str]:
        """One for each channel that results rest on."""
        for channel, count in self.counts.items():
            yield overdue_words(channel.instrument, channel.name, channel.due, count, self.total)

    def _finding(self, finding: ReportedFinding) -> ReportedFinding:
        ref = finding.criterion
        return replace(
            finding,
            result=self._mark(finding.result, ref) if finding.result else None,
            others=self._marked(finding.others, ref),
            beside=self._marked(finding.beside, ref),
        )

    def _marked(self, results: Iterable[PointResult], ref: str) -> tuple[PointResult, ...]:
        return tuple(self._mark(result, ref) for result in results)

    def _mark(self, result: Held, ref: str) -> Held:
        """From the day on that it is due, as readings are flagged; before it, nothing."""
        self.total += 1
        channel = self.channels.get((result.chain.serial, self.parameters[ref]))
        if channel is None or not result.end or result.end[:10] < channel.due:
            return result
        self.counts[channel] += 1
        return replace(result, calibration=overdue(channel.due))
