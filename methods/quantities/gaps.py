"""When a log is silent for so long that nothing is known of the time between."""

from __future__ import annotations

#: Up to so many logging intervals from one usable reading to the next, one lost reading at most, the two are taken to
#: follow each other: a spot value reaches halfway to its neighbour, a line is drawn across, and deployments at a point
#: are one stay. Over a longer gap no mean counts the time as covered and a line breaks (docs/methods/averages.md).
BRIDGED_INTERVALS = 2
