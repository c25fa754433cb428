"""What the columns of collecting can hold."""

from __future__ import annotations

from campaigns.models.bounds import CALCULATED, SHARE, SIZE, bound
from readings.models.alerts import Alert
from readings.models.clock_questions import ClockLag
from readings.models.layouts import LookFirst, SavedLayout
from readings.models.timeline_steps import TimelineStep
from readings.models.uploads import Upload

for model in (Upload, SavedLayout, LookFirst, TimelineStep):
    bound(model)
bound(ClockLag, {"confidence": SHARE})
bound(Alert, {"value": CALCULATED, "told_value": CALCULATED, "minutes": SIZE})
