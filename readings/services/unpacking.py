"""An archive of several logs: each becomes an upload of its own, as if it had been handed in by itself."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from django.conf import settings
from django.core.files.base import File
from django.db import transaction

from campaigns.enqueue import Outcome
from campaigns.models import Job
from methods.logs.files.archives import ArchiveMember, unpacked
from methods.logs.types import LogProblem, Unreadable
from readings.models import Problem, Upload
from readings.services.prefetch import meanwhile
from readings.services.problem_rows import problem_row
from readings.services.receive import display_name, keep, printable, sha256_of_file

LEFT_OUT, HELD = "left-out", "held-already"


@dataclass
class Unpacking:
    """What became of the members so far."""

    logs: int = 0
    held: int = 0
    problems: list[LogProblem] = field(default_factory=list)

    def told(self) -> str:
        """In a sentence or two, for the row of the archive."""
        inside = self.logs + self.held
        said = f"{inside:,} log{'s' * (inside != 1)} inside, each its own upload below."
        if self.held:
            said += f" {self.held:,} of them {'was' if self.held == 1 else 'were'} here already."
        left = sum(problem.code == LEFT_OUT for problem in self.problems)
        return said + (f" {left:,} file{'s' * (left != 1)} left out: its page says why." if left else "")


def unpack(job: Job, upload: Upload, path: Path) -> Outcome:
    """Take the logs out of ``upload``, an archive at ``path``, and queue the reading of each. Safe to run twice."""
    found = Unpacking()
    try:
        with tempfile.TemporaryDirectory(prefix="fanlight-") as folder:
            members = unpacked(path, Path(folder), settings.UPLOAD_MAX_BYTES)
            while (member := meanwhile(partial(next, members, None), job.beat_if_due)) is not None:
                _take(upload, member, found)
                job.beat()
    except Unreadable as error:
        found.problems[:0] = error.problems
    state = Upload.State.UNPACKED if found.logs + found.held else Upload.State.UNREADABLE
    with transaction.atomic():
        job.beat()  # no longer ours: nothing below is kept
        Problem.objects.filter(upload=upload).delete()
        Problem.objects.bulk_create(problem_row(upload, p) for p in found.problems)
        Upload.objects.filter(pk=upload.pk).update(
            state=state, problem_count=len(found.problems), understood=None, layout=None
        )
    if state == Upload.State.UNPACKED:
        return Job.State.DONE, "unpacked", found.told()
    first = found.problems[0]
    none = f"None of the {len(found.problems):,} files in the archive is a log. {first.message}"
    return Job.State.FAILED, first.code, none if first.code == LEFT_OUT else first.message


def _take(archive: Upload, member: ArchiveMember, found: Unpacking) -> None:
    name = printable(member.name)
    if member.left_out:
        found.problems.append(LogProblem(0, "", name, LEFT_OUT, f"“{name}” was left out. {member.left_out}"))
        return
    with member.path.open("rb") as content:
        checksum = sha256_of_file(content)
        if Upload.objects.filter(archive=archive, member=name, sha256=checksum).exists():  # from a run before this one
            found.logs += 1
            return
        upload = Upload(
            campaign=archive.campaign,
            instrument=archive.instrument,
            uploaded_by=archive.uploaded_by,
            filename=display_name(member.name),
            size=member.path.stat().st_size,
            sha256=checksum,
            archive=archive,
            member=name,
        )
        receipt = keep(upload, File(content))
    if not receipt.already_held:
        found.logs += 1
        return
    first = receipt.upload
    found.held += 1
    since = first.created_at.astimezone(archive.campaign.site.zone_info)
    message = f"“{name}” is here already, as “{first.filename}” of {since:%Y-%m-%d %H:%M}."
    found.problems.append(LogProblem(0, "", name, HELD, message))
