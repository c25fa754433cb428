"""Reading an upload: understand the file, or ask; store its readings chunk by chunk, say what was wrong where.

The file is parsed outside the transaction; each chunk is written in a short one together with the job's heartbeat.
A worker that is killed leaves whole chunks; the next run finds them held under the same upload and goes on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from django.db import IntegrityError, transaction

from campaigns.enqueue import Outcome
from campaigns.models import Channel, Instrument, Job
from campaigns.signals import inputs_changed
from methods import logs
from methods.clock import Basis, BurstsSoFar
from methods.logs.files.archives import holds_several
from methods.logs.types import LOCAL, Chunk, Layout, LogProblem, Unreadable
from readings.models import Problem as ProblemRow
from readings.models import Upload
from readings.queries.bursts import laid
from readings.queries.clock_facts import clock_of
from readings.services import column_channels, file_doubts
from readings.services.affected_campaigns import fed_by
from readings.services.alerts.provisional import look_before_the_answer
from readings.services.clash_messages import clash_problem, loose_problem
from readings.services.clock_review import doubts
from readings.services.duplicate_memory import SameMemory, refuse_the_same_memory
from readings.services.file_doubts import (
    Doubted,
    refuse_another_instrument,
    refuse_mostly_clashing,
    refuse_out_of_range,
    refuse_read_for_another,
)
from readings.services.minute_twins import MinuteTwins
from readings.services.originals import OriginalMissing, local_copy
from readings.services.prefetch import meanwhile, one_ahead
from readings.services.problem_rows import problem_row
from readings.services.receive import as_of
from readings.services.stamp_steps import StampSteps
from readings.services.understanding import Understood, kept_for, taken_up, understand
from readings.services.unpacking import unpack
from readings.services.withdrawing import finish
from readings.store import Batch, Intake, StampCounts, StoreTally, write

KEPT_PROBLEMS = 200
MORE = "more_problems"
ONLY_SNIFFED = ("other_sheets", "lines_above")  #: reading does not see them again
CHUNK_ROWS = 50_000
Channels = list[Channel | None]
Numbered = tuple[Chunk, list[Batch]]


@dataclass
class Progress:
    """What reading one file has found so far."""

    tally: StoreTally = field(default_factory=StoreTally)
    problems: list[LogProblem] = field(default_factory=list)
    problem_count: int = 0
    lines: int = 0
    first: int | None = None
    last: int | None = None
    steps: StampSteps = field(default_factory=StampSteps)
    bursts: BurstsSoFar = field(default_factory=BurstsSoFar)
    twins: MinuteTwins | None = None

    def note(self, problems: Iterable[LogProblem]) -> None:
        """What concerns the whole file is always kept, of single lines the first ones."""
        for problem in problems:
            # The reader lists the first problems and then says how many more there were.
            self.problem_count += int(problem.value) if problem.code == MORE else 1
            if problem.line == 0 or len(self.problems) < KEPT_PROBLEMS:
                self.problems.append(problem)

    def burst_edges(self) -> list[list[int]] | None:
        edges = self.bursts.result()
        return None if edges is None else edges.tolist()

    def saw(self, chunk: Chunk) -> None:
        self.lines += _lines_of(chunk)
        self.bursts.see(chunk.stamps)
        low, high = int(chunk.stamps.min()), int(chunk.stamps.max())
        self.first = low if self.first is None else min(self.first, low)
        self.last = high if self.last is None else max(self.last, high)

    def new_of(self, batches: list[Batch]) -> list[Batch]:
        """Without what is held under finer stamps."""
        if self.twins is None or not self.twins.ways:
            return batches
        pairs = [self.twins.without_held(batch) for batch in batches]
        self.note(problem for _, problems in pairs for problem in problems)
        return [batch for batch, _ in pairs]

    def read_coarse_anew(self, state: str) -> str:
        """Of a stored file: have those of its memory with coarser stamps read anew. ``state``, or attention."""
        if self.twins is None or not self.tally.stored:
            return state
        told, done = self.twins.read_coarse_anew()
        self.note(told)
        return state if done else Upload.State.ATTENTION

    def took(self, part: StoreTally, channels: Channels) -> None:
        self.note(clash_problem(clash, channels) for clash in part.clashes)
        self.note(loose_problem(loose, channels) for loose in part.loose)
        self.tally.add(StoreTally(part.stored, part.held))


def read_upload(job: Job) -> Outcome:
    """The job "read-upload"."""
    upload = taken_up(job.subject_id)
    if upload.reads_anew is not None:  # its keys have to be free before the file is read another way
        finish(upload.reads_anew.set_aside, job)
    if upload.withdrawn:
        return Job.State.DONE, "withdrawn", "It is withdrawn: nothing of it is read."
    job.beat(0, upload.size, "bytes")
    try:
        with local_copy(upload) as path:
            is_archive = meanwhile(partial(_is_archive, upload, path), job.beat_if_due)
            return unpack(job, upload, path) if is_archive else _read_from(path, job, upload)
    except OriginalMissing as error:
        return Job.State.FAILED, "original-missing", str(error)


def _is_archive(upload: Upload, path: Path) -> bool:
    """An archive in an archive is none: what is read is a log."""
    return upload.archive_id is None and holds_several(path)


def _read_from(path: Path, job: Job, upload: Upload) -> Outcome:
    outcome, understood = _read_or_asked(path, job, upload)
    if understood is not None and not understood.asks_sheet:
        instrument = upload.instrument or _by_serial(upload, understood.serials)
        look_before_the_answer(job, upload, path, understood.layout, instrument)
    return outcome


def _read_or_asked(path: Path, job: Job, upload: Upload) -> tuple[Outcome, Understood | None]:
    """What came of it, and how the file was understood, None where nothing could be made of it."""
    progress, understood = Progress(), None
    try:
        understood = understand(upload, path, job.beat_if_due)
        outcome = _read(job, upload, path, understood, progress)
    except Doubted as found:
        outcome = _finish(job, upload, Upload.State.ATTENTION, progress, [found.problem], understood)
    except SameMemory as found:
        outcome = _finish(job, upload, found.state, progress, [found.problem], understood)
    except Unreadable as error:
        # Damage may show in the middle only: what came before it is stored, and is counted and shown as such.
        state = Upload.State.ATTENTION if progress.lines else Upload.State.UNREADABLE
        progress.problems[:0] = error.problems
        progress.problem_count += len(error.problems)
        outcome = _finish(job, upload, state, progress, [], understood)
    return outcome, understood


def _read(job: Job, upload: Upload, path: Path, understood: Understood, progress: Progress) -> Outcome:
    layout = understood.layout
    if understood.waits:
        asked = [*understood.asked(), *understood.problems]
        return _finish(job, upload, Upload.State.ATTENTION, progress, asked, understood)
    if layout is None:
        return _finish(job, upload, Upload.State.UNREADABLE, progress, understood.problems)
    instrument = upload.instrument or _by_serial(upload, understood.serials)
    if instrument is None:
        asked = [_which_instrument(understood)]
        return _finish(job, upload, Upload.State.ATTENTION, progress, asked, understood)
    channels, unmatched = column_channels.match(layout, instrument)
    progress.note(unmatched)
    if not any(channels):
        return _finish(job, upload, Upload.State.ATTENTION, progress, [], understood)
    if (here := _named(upload, instrument)) is not None:
        return _finish(job, upload, Upload.State.ATTENTION, progress, [_here_already(here)], understood)
    refuse_another_instrument(upload, instrument, understood.serials)
    refuse_read_for_another(upload, instrument, layout)
    progress.note(p for p in understood.problems if p.code in ONLY_SNIFFED)
    read = logs.read(path, layout, chunk_rows=CHUNK_ROWS)
    with one_ahead(_numbered(read, upload, channels), job.beat_if_due) as chunks:
        _store(job, upload, layout, chunks, channels, progress)
    progress.note(progress.steps.problems(_basis(upload, layout)))
    if progress.twins is not None:
        progress.tally.held += progress.twins.held
        progress.note(progress.twins.told())
    if not progress.lines:
        return _finish(job, upload, Upload.State.UNREADABLE, progress, [_no_rows()], understood)
    return _finish(job, upload, _placed(upload, layout, progress), progress, [], understood)


def _placed(upload: Upload, layout: Layout, progress: Progress) -> str:
    """Whether a person has to say where in time the file lies; what is asked comes before all other problems."""
    upload.layout = layout.to_json()
    upload.first_stamp_ms, upload.last_stamp_ms = progress.first, progress.last
    upload.bursts, upload.interval_ms = progress.burst_edges(), progress.bursts.interval_ms
    asked = doubts(laid(upload)) if upload.bursts else []
    asked += file_doubts.when_read(upload, progress.tally)
    progress.problems[:0] = asked
    progress.problem_count += len(asked)
    return Upload.State.ATTENTION if asked or file_doubts.is_open(upload, progress.problems) else Upload.State.READ


def _numbered(chunks: Iterable[Chunk], upload: Upload, channels: Channels) -> Iterator[Numbered]:
    """Each chunk with its batches. Asks no database."""
    repeats = [StampCounts() for _ in channels]
    for chunk in chunks:
        yield chunk, list(batches_of(upload, chunk, channels, repeats))


def _store(
    job: Job, upload: Upload, layout: Layout, chunks: Iterable[Numbered], channels: Channels, progress: Progress
) -> None:
    file = Intake()
    try:
        for chunk, problems in chunks:
            progress.note(chunk.problems)
            if not len(chunk.lines):
                continue
            batches = [file.see(progress.steps.see(batch)) for batch in problems]
            if not progress.lines:
                refuse_out_of_range(upload, batches, channels)
                progress.twins = MinuteTwins(upload)
                progress.twins.look(batches)
                if upload.twin == Upload.Twin.SAME or not progress.twins.ways:
                    refuse_the_same_memory(upload, layout.basis, batches, channels)
            batches = progress.new_of(batches)
            with transaction.atomic():
                if not progress.lines:  # from now on nothing but this layout: a second run must mean the same by a line
                    Upload.objects.filter(pk=upload.pk).update(settled=layout.to_json())
                part = write(batches, file)
                if not progress.lines:
                    refuse_mostly_clashing(upload, part, batches)
                _count(upload, progress.tally.stored + part.stored, progress.lines + _lines_of(chunk))
                job.beat(min(chunk.bytes_read, upload.size))
            progress.saw(chunk)
            progress.took(part, channels)
    except Unreadable:  # what was read before the damage is kept, to its last line
        _store_rest(job, upload, file, progress, channels)
        raise
    _store_rest(job, upload, file, progress, channels)


def _store_rest(job: Job, upload: Upload, file: Intake, progress: Progress, channels: Channels) -> None:
    file.last = True
    if file.rest:
        with transaction.atomic():
            part = write([], file)
            _count(upload, progress.tally.stored + part.stored, progress.lines)
            job.beat()
        progress.took(part, channels)


def _lines_of(chunk: Chunk) -> int:
    """One line may hold the hours of a day."""
    return 1 + int(np.count_nonzero(np.diff(chunk.lines)))


def _count(upload: Upload, stored: int, lines: int) -> None:
    """With the readings themselves, so that what is shown of a log that was stored in part is true. A run that begins
    again finds its own readings and counts them from the start: the most that was counted is what is there."""
    Upload.objects.filter(pk=upload.pk, stored__lt=stored).update(stored=stored, lines=lines)


def batches_of(upload: Upload, chunk: Chunk, channels: Channels, repeats: list[StampCounts]) -> Iterable[Batch]:
    """One batch a channel. Equal stamps are counted channel by channel: in a long file each line is of one of them."""
    for k, channel in enumerate(channels):
        if channel is not None:
            raw, flag = chunk.values[:, k], chunk.flags[:, k].astype(np.int64)
            there = ~(np.isnan(raw) & (flag == 0))  # an empty cell: the logger stored nothing
            stamps, lines = chunk.stamps[there], chunk.lines[there]
            yield Batch(channel.pk, upload.pk, stamps, repeats[k].number(stamps), raw[there], flag[there], lines)


def _finish(
    job: Job,
    upload: Upload,
    state: str,
    progress: Progress,
    problems: Iterable[LogProblem],
    understood: Understood | None = None,
) -> Outcome:
    progress.note(problems)
    columns: dict[str, Any] = {
        "state": state,
        "layout": _layout_shown(understood),
        "understood": understood.kept() if understood else None,
        "lines": progress.lines,
        "stored": progress.tally.stored,
        "held": progress.tally.held,
        "problem_count": progress.problem_count,
        "bursts": progress.burst_edges(),
        "interval_ms": progress.bursts.interval_ms,
        "first_stamp_ms": progress.first,
        "last_stamp_ms": progress.last,
    }
    with transaction.atomic():
        job.beat()  # no longer ours: nothing below is kept
        state = columns["state"] = progress.read_coarse_anew(state)
        columns["problem_count"] = progress.problem_count
        ProblemRow.objects.filter(upload=upload).delete()
        ProblemRow.objects.bulk_create(problem_row(upload, p) for p in progress.problems)
        kept = kept_for(upload, understood)
        Upload.objects.filter(pk=upload.pk).update(kept_layout=kept, **columns)
        if progress.tally.stored or (kept and kept.pk) != upload.kept_layout_id:
            inputs_changed.send(Upload, campaign_ids=fed_by(Upload.objects.filter(pk=upload.pk)))
    return _outcome(state, progress)


def _layout_shown(understood: Understood | None) -> dict[str, Any] | None:
    """None while a sheet is to be chosen: it would be that of any of them."""
    if understood is None or understood.layout is None or understood.asks_sheet:
        return None
    return understood.layout.to_json()


def _outcome(state: str, progress: Progress) -> Outcome:
    if state == Upload.State.READ:
        told = f"{_counted(progress.tally.stored, 'reading')} stored"
        told += f", {progress.tally.held:,} already held" if progress.tally.held else ""
        told += f", {_counted(progress.problem_count, 'problem')}" if progress.problem_count else ""
        return Job.State.DONE, "read", told + "."
    first = progress.problems[0] if progress.problems else None
    message = first.message if first else "Nothing in this file could be read."
    ended = Job.State.ATTENTION if state == Upload.State.ATTENTION else Job.State.FAILED
    return ended, first.code if first else "unreadable", message


def _counted(count: int, what: str) -> str:
    return f"{count:,} {what}" if count == 1 else f"{count:,} {what}s"


def _basis(upload: Upload, layout: Layout) -> Basis:
    assert upload.instrument is not None
    return clock_of(upload.instrument, upload.campaign.site).basis if layout.basis == LOCAL else Basis.utc()


def _by_serial(upload: Upload, serials: tuple[str, ...]) -> Instrument | None:
    organisation = upload.campaign.site.organisation_id
    instruments = list(Instrument.objects.filter(organisation=organisation, serial__in=serials)[:2])
    return instruments[0] if len(instruments) == 1 else None


def _named(upload: Upload, instrument: Instrument) -> Upload | None:
    """Note whose log it is; where the same bytes are here as a log of that instrument already, which upload that is."""
    try:
        with transaction.atomic():
            Upload.objects.filter(pk=upload.pk).update(instrument=instrument)
    except IntegrityError:
        if (here := as_of(upload, instrument)) is None:
            raise
        return here
    upload.instrument = instrument
    return None


def _here_already(here: Upload) -> LogProblem:
    message = f"This file is here already as a log of {here.instrument}: withdraw this one, or name another instrument."
    return LogProblem(0, "", here.filename, "here-already", message)


def _which_instrument(understood: Understood) -> LogProblem:
    seen = ", ".join(understood.serials)
    message = "Which instrument stored this file? " + (
        f"Its serial number ({seen}) is not among your instruments." if seen else "The file names no serial number."
    )
    return LogProblem(0, "", seen, "which-instrument", message)


def _no_rows() -> LogProblem:
    return LogProblem(0, "", "", "no-readings", "The file has a header but no line with readings below it.")
