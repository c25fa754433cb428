"""What background work of collecting is called in job rows."""

from __future__ import annotations

READ_UPLOAD = "read-upload"
REVIEW_CLOCK = "review-clock"
COMPARE_CLOCKS = "compare-clocks"
SET_ASIDE = "set-aside"
LOOK_FOR_ALERTS = "look-for-alerts"
TELL_ALERT = "tell-alert"

#: Work after which other readings of a log count than before.
MOVE_READINGS = (READ_UPLOAD, SET_ASIDE)
