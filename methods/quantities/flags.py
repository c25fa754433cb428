"""What can be said against a reading. Flags add, they never delete (docs/methods/flags.md).

Pure. The lowest three bits are *stored* with a reading, because the logger itself said so; all others are derived
each time from the instrument, its checks and its deployment.
"""

from __future__ import annotations

from enum import IntFlag


class Flag(IntFlag):
    NONE = 0
    # stored: what the file said
    BELOW_DETECTION = 1  # "<0.01": the stored value is the limit
    OVER_RANGE = 2  # ">5" or "OL": excludes nothing, makes every mean a lower bound
    SENSOR_ERROR = 4  # an error or missing-value code: no value
    # derived: what we know of the instrument and the visit
    CLOCK_DOUBTFUL = 8  # missing or unresolved repeated hour, or beside a clock reset
    WARMING_UP = 16
    SETTLING = 32
    OUTSIDE_CONDITIONS = 64  # outside the instrument's temperature or humidity range
    CALIBRATION_OVERDUE = 128
    FIELD_CHECK_FAILED = 256
    FIELD_CHECK_MISSING = 512
    EXCLUDED = 1024  # by a person, with a reason


#: A reading with any of these does not enter a mean.
EXCLUDES = Flag.SENSOR_ERROR | Flag.CLOCK_DOUBTFUL | Flag.WARMING_UP | Flag.SETTLING | Flag.EXCLUDED

WORDS: dict[Flag, str] = {
    Flag.BELOW_DETECTION: "below the detection limit",
    Flag.OVER_RANGE: "over range: means are lower bounds",
    Flag.SENSOR_ERROR: "the logger stored an error or no value",
    Flag.CLOCK_DOUBTFUL: "the time is doubtful",
    Flag.WARMING_UP: "warming up",
    Flag.SETTLING: "settling after a move or switching on",
    Flag.OUTSIDE_CONDITIONS: "outside the instrument's temperature or humidity range",
    Flag.CALIBRATION_OVERDUE: "calibration overdue",
    Flag.FIELD_CHECK_FAILED: "field check failed",
    Flag.FIELD_CHECK_MISSING: "no field check",
    Flag.EXCLUDED: "excluded by a person",
}


def words(flag: int) -> list[str]:
    """The flags set in ``flag``, in words, lowest bit first."""
    return [text for bit, text in WORDS.items() if flag & bit]
