"""What the timeline says in tables: bursts, deployments, readings outside every one, and proposals."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from campaigns.models import Deployment, QualityRun, SamplingPoint
from methods.placing import Span
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import local_text, utc_moment
from readings.services import timeline
from readings.services.timeline import Proposed
from readings.services.timeline.picture import Burst, TimelinePicture
from readings.services.timeline.proposals import unmeasured

QUICK = 100_000  # readings; in more of them visits are looked for only when somebody asks
SHOWN = 50  # rows of a table; what is not shown is counted


@dataclass(frozen=True)
class Listing:
    """``visits``: for how many of the points nobody measured visits are to be proposed; None: nobody said."""

    seen: TimelinePicture
    may_edit: bool
    visits: int | None = None

    @property
    def zone(self) -> Any:
        return self.seen.campaign.site.zone_info

    def url(self, **more: Any) -> str:
        channel = self.seen.logged.channel
        asked = {"instrument": channel.instrument.key, "parameter": channel.spec.parameter, **more}
        return f"{reverse('timeline', args=[self.seen.campaign.key])}?{urlencode(asked)}"

    def local(self, ms: int) -> str:
        return local_text(utc_moment(ms), self.zone)

    def when(self, row: Deployment | QualityRun) -> tuple[str, str]:
        return local_text(row.starts_at, self.zone), local_text(
            row.ends_at, self.zone
        ) if row.ends_at else "still there"

    # --- the log ---

    def log(self) -> dict[str, Any]:
        seen = self.seen
        return {
            "facts": self.facts(),
            "bursts": [self.burst(burst) for burst in seen.bursts[:SHOWN]],
            "burst_count": len(seen.bursts),
            "outside": [self.span(span, (span.start_ms, span.end_ms)) for span in seen.outside[:SHOWN]],
            "outside_count": len(seen.outside),
            "doubtful": [self.span(span) for span in seen.doubtful[:SHOWN]],
            "doubtful_count": len(seen.doubtful),
        }

    def facts(self) -> list[tuple[str, str]]:
        seen = self.seen
        parameter = seen.logged.channel.spec.parameter_name
        return [
            ("Readings", f"{len(seen.logged):,} of {parameter}"),
            ("Bursts", f"{len(seen.bursts):,}; a gap of more than three logging intervals ends one"),
            ("Outside every deployment", f"{sum(s.count for s in seen.outside):,} readings"),
            ("At a doubtful time", f"{sum(s.count for s in seen.doubtful):,} readings"),
            ("Clock of the site", offset_words(seen)),
        ]

    def burst(self, burst: Burst) -> dict[str, Any]:
        return self.span(burst.span, burst.free) | {"outside": burst.outside}

    def span(self, span: Span, free: tuple[int, int] | None = None) -> dict[str, Any]:
        """A stretch of readings; ``free``: the part of it of which a deployment can be made."""
        url = self.url(**{"from": free[0], "to": free[1]}) + "#create" if free and self.may_edit else ""
        return {"start": self.local(span.start_ms), "end": self.local(span.end_ms), "count": span.count, "url": url}

    # --- deployments ---

    def stays(self) -> dict[str, Any]:
        return {
            "deployments": [
                {
                    "row": row,
                    "when": self.when(row),
                    "count": self.seen.counts[row.pk],
                    "url": self.url(deployment=row.key) + "#chosen",
                }
                for row in self.seen.own
            ],
            "runs": [{"row": run, "when": self.when(run)} for run in self.seen.runs],
            "elsewhere": [{"row": row, "when": self.when(row)} for row in self.seen.elsewhere],
        }

    def neighbours(self, row: Deployment) -> list[dict[str, Any]]:
        """Deployments before and after it at the same point, with which it can be merged."""
        pairs = [(a, b) for a, b in pairwise(self.seen.own) if row in (a, b) and a.point_id == b.point_id]
        others = [b if a == row else a for a, b in pairs]
        return [{"row": other, "when": self.when(other)} for other in others]

    # --- proposals ---

    @cached_property
    def open_points(self) -> list[SamplingPoint]:
        return unmeasured(self.seen.campaign, self.seen.logged.channel.spec.parameter)

    @cached_property
    def proposed(self) -> Proposed:
        """Made where the instrument stood nowhere yet, or where somebody asked."""
        unasked = not self.seen.own and len(self.seen.logged) <= QUICK
        wanted = self.visits if self.visits is not None else (len(self.open_points) if unasked else 0)
        points = self.open_points[:wanted]
        if not points or not self.seen.outside:
            return Proposed()
        return timeline.proposed(self.seen.logged, self.seen.stays, points)

    def proposals(self) -> dict[str, Any]:
        rows = [
            {
                "n": n,
                "visit": visit,
                "when": (self.local(visit.start_ms), self.local(visit.end_ms)),
                "iso": (utc_moment(visit.start_ms).isoformat(), utc_moment(visit.end_ms).isoformat()),
            }
            for n, visit in enumerate(self.proposed.visits)
        ]
        return {
            "open_points": self.open_points,
            "proposed": rows,
            "proposal_note": self.proposed.note,
            "visits": self.visits or len(self.open_points),
        }


def offset_words(seen: TimelinePicture) -> str:
    """``UTC+1``, and from when on another one holds, where the clocks change meanwhile."""
    zone = seen.campaign.site.zone_info
    at, offsets = seen.offsets
    words = [_utc(offset) for offset in offsets]
    changes = [f"from {local_text(utc_moment(ms), zone)} {word}" for ms, word in zip(at, words[1:], strict=True)]
    return ", ".join([f"{zone.key}, {words[0]}", *changes])


def _utc(offset_ms: int) -> str:
    hours, minutes = divmod(abs(offset_ms) // MINUTE_MS, 60)
    return f"UTC{'−' if offset_ms < 0 else '+'}{hours}" + (f":{minutes:02}" if minutes else "")
