"""The trace of a result: what its sentence and its page need beside the columns, down to the lines of the files."""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite

from methods.quantities.moments import stamp_text, utc_moment
from methods.verdicts import Judgement
from readings.models import Upload
from readings.queries import Placed
from reports.services.circumstances import Circumstances
from reports.services.measuring import StayMeasured
from reports.trace import ResultTrace, SourceFile, SourceReading

#: By the id of its upload.
Uploads = dict[int, SourceFile]
NO_FILE = SourceFile()


def said_of(uploads: Iterable[Upload]) -> Uploads:
    return {u.pk: SourceFile(str(u.key), u.filename, u.sha256) for u in uploads}


def trace_of(judgement: Judgement, measured: StayMeasured, around: Circumstances, uploads: Uploads) -> ResultTrace:
    """``measured`` has an estimate."""
    assert measured.estimate is not None
    assert measured.window is not None
    stay, edge = measured.taken.stay, judgement.edge
    names = stay.names
    return ResultTrace(
        instrument=names.instrument,
        channel=names.channel,
        deployments=names.deployments,
        interval_s=stay.interval_ms / 1000,
        unit=measured.taken.hows[0].unit_text,
        lower=measured.estimate.lower,
        upper=measured.estimate.upper,
        is_lower_bound=measured.window.is_lower_bound,
        said=measured.said,
        details=measured.details,
        outdoor=measured.outdoor,
        place=str(around.place or ""),
        personal=around.personal,
        is_context=measured.is_context,
        first=_reading(*stay.at(measured.window.first), uploads),
        last=_reading(*stay.at(measured.window.last), uploads),
        advice=judgement.would_decide.words if judgement.would_decide else "",
        levels=judgement.levels.words,
        words=judgement.words,
        is_met=judgement.is_met,
        p_not_met=p_not_met(judgement),
        edge=None if edge is None else edge.value,
        is_upper=is_upper(judgement),
        u_at_limit=judgement.u,
        dof=judgement.dof if isfinite(judgement.dof) else None,
    )


def p_not_met(judgement: Judgement) -> float | None:
    """The probability that the limit is not met: above an upper one, or under a lower one."""
    if judgement.p_above is None or judgement.edge is None:
        return None
    return judgement.p_above if judgement.edge.is_upper else 1.0 - judgement.p_above


def is_upper(judgement: Judgement) -> bool:
    """Whether a high value concerns: not under a lower limit, or at the lower end of a range."""
    return judgement.edge is None or judgement.edge.is_upper


def _reading(placed: Placed, index: int, uploads: Uploads) -> SourceReading:
    source = uploads.get(int(placed.upload_id[index]), NO_FILE)
    return SourceReading(
        upload=source.upload,
        file=source.file,
        sha256=source.sha256,
        line=int(placed.line[index]),
        stamp=stamp_text(int(placed.stamp[index])),
        at=utc_moment(int(placed.utc_ms[index])).isoformat(),
        raw=None if placed.raw[index] != placed.raw[index] else float(placed.raw[index]),
        value=float(placed.value[index]),
    )
