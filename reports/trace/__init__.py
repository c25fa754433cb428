"""What a result is traced by, as typed records; how they are stored."""

from reports.trace.outdoor import NOT_ASKED, OutdoorBeside, OutdoorComparison, OutdoorMissing, OutdoorNotAsked
from reports.trace.readings import SourceFile, SourceReading
from reports.trace.result import FORMAT, UNTRACED, BudgetPart, ResultTrace

__all__ = [
    "FORMAT",
    "NOT_ASKED",
    "UNTRACED",
    "BudgetPart",
    "OutdoorBeside",
    "OutdoorComparison",
    "OutdoorMissing",
    "OutdoorNotAsked",
    "ResultTrace",
    "SourceFile",
    "SourceReading",
]
