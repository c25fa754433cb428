"""Reading an upload: understand the file, store its readings chunk by chunk, say what was wrong where.

The file is parsed outside the transaction; each chunk is written in a short one together with the job's heartbeat.
A worker that is killed leaves whole chunks; the next run finds them held under the same upload and goes on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from django.db import transaction

from campaigns.enqueue import Outcome
from campaigns.models import Channel, Instrument, Job
from campaigns.signals import inputs_changed
from campaigns.stamps import stamp_text
from readings import formats
from readings.formats.types import Chunk, Layout, Problem, Understanding, Unreadable
from readings.models import Problem as ProblemRow
from readings.models import Upload
from readings.services import columns
from readings.services.originals import local_copy
from readings.store import Batch, Clash, Repeats, Tally, write

KEPT_PROBLEMS = 200
CHUNK_ROWS = 50_000
Channels = list[Channel | None]


@dataclass
class Progress:
    """What reading one file has found so far."""

    tally: Tally = field(default_factory=Tally)
    problems: list[Problem] = field(default_factory=list)
    problem_count: int = 0
    lines: int = 0
    first: int | None = None
    last: int | None = None

    def note(self, problems: Iterable[Problem]) -> None:
        for problem in problems:
            self.problem_count += 1
            if len(self.problems) < KEPT_PROBLEMS:
                self.problems.append(problem)

    def saw(self, chunk: Chunk) -> None:
        self.lines += len(chunk.lines)
        low, high = int(chunk.stamps.min()), int(chunk.stamps.max())
        self.first = low if self.first is None else min(self.first, low)
        self.last = high if self.last is None else max(self.last, high)


def read_upload(job: Job) -> Outcome:
    """The job "read-upload"."""
    upload = Upload.objects.select_related("campaign__site", "instrument").get(pk=job.subject_id)
    job.beat(0, upload.size, "bytes")
    with local_copy(upload) as path:
        try:
            understanding = formats.understand(path, name=upload.filename)
            return _read(job, upload, path, understanding)
        except Unreadable as error:
            return _finish(job, upload, Upload.State.UNREADABLE, Progress(), error.problems)


def _read(job: Job, upload: Upload, path: Path, understanding: Understanding) -> Outcome:
    layout, progress = understanding.layout, Progress()
    if layout is None or understanding.questions:
        problems = [*understanding.problems, *(_asked(q) for q in understanding.questions)]
        state = Upload.State.ATTENTION if understanding.questions else Upload.State.UNREADABLE
        return _finish(job, upload, state, progress, problems, layout)
    instrument = upload.instrument or _by_serial(upload, understanding.serials)
    if instrument is None:
        return _finish(job, upload, Upload.State.ATTENTION, progress, [_which_instrument(understanding)], layout)
    channels, unmatched = columns.match(layout, instrument)
    progress.note(unmatched)
    if not any(channels):
        return _finish(job, upload, Upload.State.ATTENTION, progress, [], layout)
    Upload.objects.filter(pk=upload.pk).update(instrument=instrument)
    upload.instrument = instrument
    _store(job, upload, formats.read(path, layout, chunk_rows=CHUNK_ROWS), channels, progress)
    if not progress.lines:
        return _finish(job, upload, Upload.State.UNREADABLE, progress, [_no_rows()], layout)
    return _finish(job, upload, Upload.State.READ, progress, [], layout)


def _store(job: Job, upload: Upload, chunks: Iterable[Chunk], channels: Channels, progress: Progress) -> None:
    repeats = Repeats()
    for chunk in chunks:
        progress.note(chunk.problems)
        if not len(chunk.lines):
            continue
        batches = list(_batches(upload, chunk, channels, repeats))
        with transaction.atomic():
            part = write(batches)
            job.beat(min(chunk.bytes_read, upload.size))
        progress.saw(chunk)
        progress.note(_clash(c, channels) for c in part.clashes)
        progress.tally.add(Tally(part.stored, part.held))


def _batches(upload: Upload, chunk: Chunk, channels: Channels, repeats: Repeats) -> Iterable[Batch]:
    nth = repeats.number(chunk.stamps)
    for k, channel in enumerate(channels):
        if channel is not None:
            raw, flag = chunk.values[:, k], chunk.flags[:, k].astype(np.int64)
            batch = Batch(channel.pk, upload.pk, chunk.stamps, nth, raw, flag, chunk.lines)
            there = ~(np.isnan(raw) & (flag == 0))  # an empty cell: the logger stored nothing
            yield batch if there.all() else batch.only(there)


def _finish(
    job: Job, upload: Upload, state: str, progress: Progress, problems: Iterable[Problem], layout: Layout | None = None
) -> Outcome:
    progress.note(problems)
    found: dict[str, Any] = {
        "state": state,
        "layout": layout.to_json() if layout else None,
        "lines": progress.lines,
        "stored": progress.tally.stored,
        "held": progress.tally.held,
        "problem_count": progress.problem_count,
        "first_stamp_ms": progress.first,
        "last_stamp_ms": progress.last,
    }
    with transaction.atomic():
        job.beat()  # no longer ours: nothing below is kept
        ProblemRow.objects.filter(upload=upload).delete()
        ProblemRow.objects.bulk_create(
            ProblemRow(
                upload=upload, line=p.line, column=p.column[:100], value=p.value[:200], code=p.code, message=p.message
            )
            for p in progress.problems
        )
        Upload.objects.filter(pk=upload.pk).update(**found)
        if progress.tally.stored:
            inputs_changed.send(Upload, campaign_ids=campaigns_fed_by(upload))
    return _outcome(state, progress)


def _outcome(state: str, progress: Progress) -> Outcome:
    if state == Upload.State.READ:
        told = f"{progress.tally.stored:,} readings stored"
        told += f", {progress.tally.held:,} already held" if progress.tally.held else ""
        told += f", {progress.problem_count:,} problems" if progress.problem_count else ""
        return Job.State.DONE, "read", told + "."
    first = progress.problems[0] if progress.problems else None
    message = first.message if first else "Nothing in this file could be read."
    ended = Job.State.ATTENTION if state == Upload.State.ATTENTION else Job.State.FAILED
    return ended, first.code if first else "unreadable", message


def campaigns_fed_by(upload: Upload) -> list[int]:
    """Campaigns in which the upload's instrument stood somewhere: all of them may now be judged differently."""
    assert upload.instrument is not None
    deployed = upload.instrument.deployments.values_list("campaign_id", flat=True)
    return sorted({upload.campaign_id, *deployed})


def _by_serial(upload: Upload, serials: tuple[str, ...]) -> Instrument | None:
    organisation = upload.campaign.site.organisation_id
    found = list(Instrument.objects.filter(organisation=organisation, serial__in=serials)[:2])
    return found[0] if len(found) == 1 else None


def _which_instrument(understanding: Understanding) -> Problem:
    seen = ", ".join(understanding.serials)
    message = "Which instrument stored this file? " + (
        f"Its serial number ({seen}) is not among your instruments." if seen else "The file names no serial number."
    )
    return Problem(0, "", seen, "which-instrument", message)


def _asked(question: Any) -> Problem:
    return Problem(0, "", "", question.code, question.message)


def _no_rows() -> Problem:
    return Problem(0, "", "", "no-readings", "The file has a header but no line with readings below it.")


def _clash(clash: Clash, channels: Channels) -> Problem:
    spec = next(c.spec for c in channels if c is not None and c.pk == clash.channel_id)
    return Problem(
        line=clash.line,
        column=spec.get_parameter_display(),
        value=f"{clash.new:g}",
        code="held-differently",
        message=(
            f"{stamp_text(clash.stamp)} is already held with {clash.held:g} {spec.unit} (another file, line "
            f"{clash.held_line}); this file says {clash.new:g}. The held value stays."
        ),
    )
