"""From one number down to the lines of the original files: the readings of a result and the steps of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from django.urls import reverse

from campaigns.links import address
from campaigns.models import Deployment, Instrument
from campaigns.services.limit_terms import terms
from methods.averages import after_ms
from methods.correction import ChainStep, explain_reading
from methods.quantities.arrays import Floats, Ints
from methods.quantities.digits import in_digits
from methods.quantities.durations import DAY_MS
from methods.quantities.flags import EXCLUDES, words
from methods.quantities.moments import stamp_text, utc_moment, utc_ms
from methods.wording.numbers import plain, sentence_case
from readings.models import Upload
from readings.queries import Placed, placed_in
from readings.services import stored_value
from reports.models import Result
from reports.services.result_cells import NO_BREAK


@dataclass(frozen=True, slots=True)
class TraceStep:
    """One step of the way from a result to the line in the file, for ``parts/chain.html``."""

    name: str
    text: str
    url: str = ""
    note: str = ""


@dataclass(frozen=True, eq=False)
class TracedReadings:
    """The readings of a result's window, in order of time. ``parts``: per deployment its readings and the positions [n]
    of those in the window; ``uploads`` by id."""

    parts: list[tuple[Placed, Ints]]
    uploads: dict[int, Upload]

    def __len__(self) -> int:
        return sum(len(index) for _, index in self.parts)

    @property
    def unit(self) -> str:
        return self.parts[0][0].unit

    def at(self, n: int) -> tuple[Placed, int]:
        """The readings that hold the ``n``-th of the window, and its position in them."""
        for placed, index in self.parts:
            if n < len(index):
                return placed, int(index[n])
            n -= len(index)
        raise IndexError("beyond the window")

    def highest(self) -> int:
        """Position within the window of the highest reading that counts: the one most worth retracing."""
        values = np.concatenate([_counting(placed, index) for placed, index in self.parts])
        return int(values.argmax())


def _counting(placed: Placed, index: Ints) -> Floats:
    counts = ((placed.flags[index] & int(EXCLUDES)) == 0) & np.isfinite(placed.value[index])
    return np.where(counts, placed.value[index], -np.inf)


def readings_of(result: Result) -> TracedReadings | None:
    """The stored readings behind a result as they stand now; None where there are none in its window, or none at all:
    a sample has none."""
    if result.deployment is None or result.window_start is None or result.window_end is None:
        return None
    low, high = utc_ms(result.window_start), utc_ms(result.window_end)
    campaign, parameter = result.criterion.campaign, result.criterion.limit.parameter
    parts = []
    for placed in placed_in(campaign, parameter=parameter, deployments=_deployments(result)):
        after = after_ms(placed.represents, placed.interval_ms)
        before = placed.interval_ms - after  # a reading stands for its interval, so those just outside reach in
        index = np.flatnonzero((placed.utc_ms > low - after) & (placed.utc_ms < high + before)).astype(np.int64)
        if len(index) and str(placed.channel.spec) in result.traced.channels:
            parts.append((placed, index))
    if not parts:
        return None
    parts.sort(key=lambda part: part[0].deployment.starts_at)
    uploads = np.unique(np.concatenate([placed.upload_id[index] for placed, index in parts]))
    return TracedReadings(parts, Upload.objects.select_related("kept_layout").in_bulk(uploads.tolist()))


def _deployments(result: Result) -> list[Deployment]:
    """The deployment of the result, or the consecutive ones that were taken together."""
    keys = result.traced.deployments
    if len(keys) < 2:
        return [result.deployment] if result.deployment else []
    related = ("campaign", "instrument", "point__room")
    return list(result.criterion.campaign.deployments.filter(key__in=keys).select_related(*related))


# --- the table of readings --------------------------------------------------------------------------------------------

COLUMNS: list[dict[str, Any]] = [
    {"label": "Time at the site"},
    {"label": "As the logger stored it"},
    {"label": "Stored", "num": True},
    {"label": "Corrected", "num": True},
    {"label": "Said against it"},
    {"label": "Line"},
]


def rows(traced: TracedReadings, zone: ZoneInfo, shown: Sequence[int]) -> list[list[Any]]:
    """Readings at positions ``shown`` of the window as rows of ``parts/table.html``."""
    table = []
    for n in shown:
        placed, k = traced.at(n)
        upload = traced.uploads.get(int(placed.upload_id[k]))
        table.append(
            [
                {"text": _whole(_local(int(placed.utc_ms[k]), zone)), "url": f"?reading={n}#reading"},
                _whole(stamp_text(int(placed.stamp[k]))),
                _value(float(placed.raw[k])),
                _value(float(placed.value[k])),
                "; ".join(words(int(placed.flags[k]))) or "nothing",
                _line(upload, int(placed.line[k]), named=len(traced.uploads) > 1),
            ]
        )
    return table


def _line(upload: Upload | None, line: int, *, named: bool) -> Any:
    """The link to the line; the file is named where the window has readings of several."""
    if upload is None:
        return f"line {line}"
    url = reverse("upload-line", args=[upload.key, line])
    return {"text": f"line {line}", "url": url, "note": upload.filename if named else ""}


def _whole(text: str) -> str:
    return text.replace(" ", NO_BREAK)


def _value(value: float) -> str:
    return "none" if value != value else plain(value)


def _local(ms: int, zone: ZoneInfo) -> str:
    return f"{utc_moment(ms).astimezone(zone):%Y-%m-%d %H:%M:%S}"


# --- the chain --------------------------------------------------------------------------------------------------------


def chain(result: Result, traced: TracedReadings, n: int, zone: ZoneInfo) -> list[TraceStep]:
    """From the result through reading ``n`` of its window to the line it was read from."""
    placed, k = traced.at(n)
    deployment, spec = placed.deployment, placed.channel.spec
    upload = traced.uploads.get(int(placed.upload_id[k]))
    stamp, at = stamp_text(int(placed.stamp[k])), _local(int(placed.utc_ms[k]), zone)
    end = f"{deployment.ends_at.astimezone(zone):%Y-%m-%d %H:%M}" if deployment.ends_at else "still there"
    return [
        TraceStep("Result", f"{len(traced)} readings of the window", note=f"{at} is one of them; choose another below"),
        TraceStep("In the unit of the limit", _converted(result, placed, k)),
        *(
            _correction(step, spec.unit, zone)
            for step in reversed(explain_reading(placed.corrected, int(placed.index[k])))
        ),
        TraceStep(
            "Deployment",
            f"{deployment.instrument} at {deployment.point}, {deployment.starts_at.astimezone(zone):%Y-%m-%d %H:%M} "
            f"to {end}",
            address(deployment),
            deployment.notes,
        ),
        TraceStep("Clock", f"The logger showed {stamp}; at the site it was {at}", note=_clock(deployment.instrument)),
        TraceStep(
            "Instrument",
            f"{deployment.instrument}, serial number {deployment.instrument.serial}",
            address(deployment.instrument),
            f"{spec}, every {in_digits(placed.interval_ms / 1000)} s: {_stored_value(placed, upload)}",
        ),
        *_file(upload, int(placed.line[k])),
    ]


def _converted(result: Result, placed: Placed, k: int) -> str:
    how = terms(placed.channel.spec, result.criterion.limit.as_library())
    value = float(how.values(placed.value[k : k + 1])[0])
    if how.unit == placed.channel.spec.unit and not how.said:
        return f"{_value(value)} {how.unit}: the limit has the same unit"
    return f"{_value(value)} {how.unit}{f', {how.said[0]}' if how.said else ''}"


def _correction(step: ChainStep, unit: str, zone: ZoneInfo) -> TraceStep:
    """One link of the correction chain, with every number that went into it."""
    inputs = []
    for given in step.inputs:
        at = "" if given.at_utc_ms is None else f" ({_when(given.at_utc_ms, zone)})"
        inputs.append(f"{given.name} {in_digits(given.value, 4)}{at}")
    out = "no value" if step.output is None else f"{in_digits(step.output, 4)} {unit}"
    text = out if step.name != "flags" else step.note
    note = step.note if step.name != "flags" else ""
    return TraceStep(
        sentence_case(step.name), text, note=". ".join(filter(None, [_formula(step.formula, inputs), note]))
    )


def _formula(formula: str, inputs: Sequence[str]) -> str:
    return f"{formula}: {'; '.join(inputs)}" if inputs else formula


def _when(ms: int, zone: ZoneInfo) -> str:
    """A calibration is valid from midnight of its day, so only the day says something."""
    moment = utc_moment(ms)
    return f"{moment:%Y-%m-%d}" if ms % DAY_MS == 0 else f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"


def _clock(instrument: Instrument) -> str:
    checks = [
        f"showed {check.shown} at {check.at:%Y-%m-%d %H:%M:%S} UTC"
        + (f" ({check.get_origin_display()}: {check.note})" if check.note else "")
        for check in instrument.clock_checks.all()
    ]
    basis = instrument.get_clock_basis_display()
    return f"{basis}. Clock checks: {'; '.join(checks)}" if checks else f"{basis}. No clock check"


def _stored_value(placed: Placed, upload: Upload | None) -> str:
    """What it stands for, and who says so; as what it counts where most of the visit stands for something else."""
    instrument, layout = placed.deployment.instrument, upload.kept_layout if upload else None
    words = stored_value.said(instrument, layout)
    if stored_value.represents(instrument, layout) == placed.represents:
        return words
    return f"{words}; moved in time to count, like most of the visit, as {placed.represents.clause}"


def _file(upload: Upload | None, line: int) -> list[TraceStep]:
    if upload is None:
        return []
    return [
        TraceStep(
            "File",
            upload.filename,
            reverse("upload", args=[upload.key]),
            f"SHA-256 {upload.sha256[:16]}…, in full above",
        ),
        TraceStep("Line", f"line {line}, as it stands in the file", reverse("upload-line", args=[upload.key, line])),
    ]
