"""Where the readings of a result stand in the original files."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SourceFile:
    """``upload``: key of the upload, ``file``: its name as handed in, ``sha256``: of its bytes, in hexadecimal. All
    empty where the upload is not held any more."""

    upload: str = ""
    file: str = ""
    sha256: str = ""


@dataclass(frozen=True, slots=True)
class SourceReading:
    """One reading, down to its line. ``upload``, ``file``, ``sha256``: of its file, see ``SourceFile``.

    ``line``: counted from 1. ``stamp``: as the logger stored it. ``at``: in UTC, ISO 8601. ``raw``: as stored, None
    where it was no number; ``value``: corrected. Both in the unit of the channel.
    """

    upload: str
    file: str
    sha256: str
    line: int
    stamp: str
    at: str
    raw: float | None
    value: float
