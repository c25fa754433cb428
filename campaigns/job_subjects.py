"""What a job is about: its subject's name and address. Told by the apps above, which know the tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from campaigns.enqueue import label_of
from campaigns.models import Job


@dataclass(frozen=True)
class Subject:
    """name: what people call it. url: where to look, or to decide. time_zone: an IANA name, of the site it is about."""

    name: str
    url: str = ""
    time_zone: str = "UTC"


Finder = Callable[[Iterable[int]], Mapping[int, Subject]]
_finders: dict[str, Finder] = {}


def subjects_of(kind: str) -> Callable[[Finder], Finder]:
    """Register the function that finds the subjects of jobs of ``kind`` by their ids, in one query for all."""

    def register(finder: Finder) -> Finder:
        _finders[kind] = finder
        return finder

    return register


def titles(jobs: Iterable[Job]) -> dict[int, Subject]:
    """For each job (by id) its title and address; a job whose subject is gone or unknown has its kind's label."""
    by_kind: dict[str, list[Job]] = {}
    for job in jobs:
        by_kind.setdefault(job.kind, []).append(job)
    by_job: dict[int, Subject] = {}
    for kind, those in by_kind.items():
        subjects = _finders[kind]([job.subject_id for job in those]) if kind in _finders else {}
        for job in those:
            subject = subjects.get(job.subject_id)
            label = label_of(kind)
            by_job[job.pk] = replace(subject, name=f"{label}: {subject.name}") if subject else Subject(label)
    return by_job
