"""How the judging of a campaign is shared out: which deployments must stay together, and how they fall into parts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable

from campaigns.models import Deployment
from methods.quantities.durations import HOUR_MS
from methods.quantities.moments import utc_ms
from reports.services.sampling_periods import following

#: Under so many stored readings a second process costs more than it saves.
WORTH_SHARING = 200_000


def shares(deployments: Collection[Deployment], stored: int, hands: int) -> list[list[Deployment]]:
    """At most ``hands`` parts of about the same length of time; one part where few readings are ``stored``.

    The readings of an instrument are read and corrected together, and deployments that follow each other at a point are
    one stay, whichever instruments they are of: both stay in one part.
    """
    if hands < 2 or stored < WORTH_SHARING:
        return [list(deployments)]
    parts: list[list[Deployment]] = [[] for _ in range(hands)]
    filled = [0] * hands
    for group in sorted(_together(deployments), key=_length, reverse=True):
        least = filled.index(min(filled))
        parts[least] += group
        filled[least] += _length(group)
    return [part for part in parts if part]


def _together(deployments: Collection[Deployment]) -> list[list[Deployment]]:
    """Groups joined by instruments, and by stays that instruments share."""
    runs = following(deployments)
    lead: dict[object, object] = {}

    def first(of: object) -> object:
        while of in lead:
            of = lead[of]
        return of

    for deployment in deployments:
        run = runs.get(deployment.pk)
        if run is not None:
            own, shared = first(("instrument", deployment.instrument_id)), first(("run", run))
            if own != shared:
                lead[own] = shared
    groups: dict[object, list[Deployment]] = defaultdict(list)
    for deployment in deployments:
        groups[first(("instrument", deployment.instrument_id))].append(deployment)
    return list(groups.values())


def _length(group: Iterable[Deployment]) -> int:
    """Milliseconds that the deployments took; one that is still open counts as an hour."""
    return sum(utc_ms(d.ends_at) - utc_ms(d.starts_at) if d.ends_at else HOUR_MS for d in group)
