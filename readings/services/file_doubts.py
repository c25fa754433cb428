"""What speaks against a file as a log of its instrument: asked before anything is stored, or, where only the whole file
tells, when it is. A person may say that it is right all the same (``Upload.accepted``)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from campaigns.models import Channel, Instrument
from methods.logs.types import ColumnRole, Layout, LogProblem
from methods.quantities.digits import as_entered
from methods.quantities.substances import SUBSTANCES
from readings.models import Upload
from readings.store import Batch, StoreTally

ANOTHER, RANGE, CLASHING, NOTHING = "another-instrument", "out-of-range", "mostly-clashing", "nothing-stored"
TWICE = "read-for-another"
#: Said of a file that was read; with one of them it is not simply done.
WHEN_READ = frozenset(("no-channel", "unit-differs", "most_bad", "most_left_out", "new_key", "formulas", NOTHING))
CODES = WHEN_READ | {ANOTHER, RANGE, CLASHING, TWICE}
#: Of the values that have one, so many must lie out of range: a few may be peaks, or a sensor that warms up.
MOST = 0.5


class Doubted(Exception):
    """Nothing of the file is stored until a person has decided."""

    def __init__(self, problem: LogProblem) -> None:
        super().__init__(problem.message)
        self.problem = problem


def refuse_another_instrument(upload: Upload, instrument: Instrument, serials: Sequence[str]) -> None:
    """Raises Doubted where the file names the serial number of another one of the house's instruments."""
    if ANOTHER in upload.accepted or instrument.serial in serials:
        return
    others = Instrument.objects.filter(organisation=instrument.organisation_id, serial__in=serials)
    other = others.exclude(pk=instrument.pk).order_by("pk").first()
    if other is None:
        return
    message = (
        f"The file names the serial number {other.serial}: that is {other}, not {instrument}. Nothing is stored: "
        "choose the other instrument, or say that it is right like this."
    )
    raise Doubted(LogProblem(0, "", other.serial, ANOTHER, message))


def refuse_read_for_another(upload: Upload, instrument: Instrument, layout: Layout) -> None:
    """Raises Doubted where the same columns of the same lines are stored as readings of another instrument already."""
    if TWICE in upload.accepted:
        return
    house = upload.campaign.site.organisation_id
    same = Upload.objects.filter(campaign__site__organisation=house, sha256=upload.sha256, stored__gt=0)
    same = same.exclude(state=Upload.State.WITHDRAWN).exclude(instrument=instrument).select_related("instrument")
    held = (row for row in same.order_by("pk") if row.layout)
    other = next((row for row in held if _share(Layout.from_json(row.layout), layout)), None)
    if other is None:
        return
    message = (
        f"The same file is stored as a log of {other.instrument} already (“{other.filename}”). Nothing is stored: "
        "choose the right instrument, withdraw the other one, or say that it is right like this."
    )
    raise Doubted(LogProblem(0, "", str(other.instrument), TWICE, message))


def _share(one: Layout, other: Layout) -> bool:
    """Whether some reading of the file would be taken with both layouts."""
    columns = {column.index for column in one.values} & {column.index for column in other.values}
    ours, theirs = _sources(one), _sources(other)
    apart = any(not ours[at] & theirs[at] for at in ours.keys() & theirs.keys())
    return bool(columns) and one.sheet == other.sheet and not apart


def _sources(layout: Layout) -> dict[int, set[str]]:
    """By column that names the source of each line, those whose lines are taken."""
    return {column.index: set(column.keep or ()) for column in layout.columns if column.role is ColumnRole.SOURCE}


def refuse_out_of_range(upload: Upload, batches: Iterable[Batch], channels: Iterable[Channel | None]) -> None:
    """Raises Doubted where most of the first values are none that the channel could show."""
    if RANGE in upload.accepted:
        return
    by_id = {channel.pk: channel for channel in channels if channel is not None}
    for batch in batches:
        spec = by_id[batch.channel_id].spec
        values = batch.raw[np.isfinite(batch.raw)]
        if spec.range_high is None or not len(values):
            continue
        above = values > float(spec.range_high)
        if float(above.mean()) > MOST:
            name = SUBSTANCES[spec.parameter].name.lower() if spec.parameter in SUBSTANCES else spec.parameter
            shown = ", ".join(as_entered(value) for value in values[above][:3])
            message = (
                f"Most values of {name} are above {as_entered(spec.range_high)} {spec.unit}, the most that "
                f"{upload.instrument} can show: {shown}. Nothing is stored: correct the unit or the instrument, or say "
                "that it is right like this."
            )
            raise Doubted(LogProblem(0, "", shown, RANGE, message))


def refuse_mostly_clashing(upload: Upload, part: StoreTally, batches: Sequence[Batch]) -> None:
    """Raises Doubted where most of the first readings differ from those that are held under the same times; what was
    written of them goes with the transaction."""
    if CLASHING in upload.accepted or len(part.clashes) <= MOST * sum(map(len, batches)):
        return
    first = part.clashes[0]
    message = (
        f"{len(part.clashes):,} of its first readings differ from those that are held of {upload.instrument} under the "
        f"same times (line {first.line}: {as_entered(first.new)}, held is {as_entered(first.held)}). Nothing is "
        "stored: correct the instrument, the unit or the order of day and month, or say that it is right like this: "
        "then the held values stay."
    )
    raise Doubted(LogProblem(0, "", "", CLASHING, message))


def when_read(upload: Upload, tally: StoreTally) -> list[LogProblem]:
    """What is to be looked at although the file was read."""
    if tally.stored or tally.held or NOTHING in upload.accepted:
        return []
    return [LogProblem(0, "", "", NOTHING, "Lines were read, but not one reading was stored: see what is wrong below.")]


def is_open(upload: Upload, problems: Iterable[LogProblem]) -> bool:
    """Whether one of ``problems`` is to be decided by a person, and nobody has yet."""
    return bool({problem.code for problem in problems} & WHEN_READ - set(upload.accepted))
