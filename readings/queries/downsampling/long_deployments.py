"""The readings of long deployments without reading them all: the extremes of what is plain, all of what is not.

Most of a long log is plain: no gap, nothing said of a reading by the logger, one deployment, no warm-up, no check in
between. There the envelope (``block_summary``) has the lowest and the highest reading of each part, and they
are derived by the code that derives every reading. Whatever is not plain is read in full; so is what turns out not to
be when it is placed. Where the envelopes cannot tell what reading everything would tell, nothing is given, and
everything is read.

Between two checks the correction is linear in time, with a positive span: the extremes of what was stored are those
of what is corrected, but for what zero and span drift within one part. A part whose corrected readings could reach
beyond the lowest or the highest of the deployment is read, so these two are exact.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from datetime import datetime

from campaigns.models import Campaign, Channel, Deployment
from methods.quantities.moments import utc_ms
from readings.queries.downsampling.mixture import MANY, Few, Mixture
from readings.queries.downsampling.plain_blocks import StampWindow, Unsure
from readings.queries.envelopes import about
from readings.queries.placed import Placed, PlacingTask, asked_of, placed_for

EVER_MS = 1 << 61


def few_in(
    campaign: Campaign,
    deployments: Iterable[Deployment],
    parameter: str | Collection[str],
    start: datetime | None = None,
    end: datetime | None = None,
) -> Iterator[Few | Placed]:
    """By instrument, channel and deployment: what is to be seen of the readings with ``start`` ≤ t < ``end``.

    Where there are not ``MANY``, all of them, as :func:`readings.queries.placed_in` gives them.
    """
    asked = asked_of(campaign, parameter, deployments)
    counts = about({channel.pk: task.reaches for task in asked for channel in task.channels})
    window = StampWindow(utc_ms(start) if start else -EVER_MS, utc_ms(end) if end else EVER_MS)
    for task in asked:
        rest = []
        for channel in task.channels:
            few = few_of(task, channel, window) if counts[channel.pk] > MANY else None
            if few is None:
                rest.append(channel)
            else:
                yield from few
        if rest:
            yield from (placed for placed in placed_for(replace(task, channels=rest)) if len(placed))


def few_of(asked: PlacingTask, channel: Channel, window: StampWindow) -> list[Few] | None:
    """By deployment; None where everything has to be read."""
    try:
        return Mixture.of(asked, channel, window).few()
    except Unsure:
        return None
