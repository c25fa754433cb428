"""Whether what is kept still is what was kept: files, signed contents, stored readings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

from django.core.files.storage import Storage, default_storage
from django.db import DEFAULT_DB_ALIAS

from campaigns.models import Agreement
from config.keeping.files import named_files, stored_digest
from readings.models import Upload
from readings.services.rereading import differing_readings, rereadable
from reports.models import Report
from reports.models.report import ContentAltered


@dataclass
class Verified:
    """What was looked at, and what is wrong with it, in words that say which."""

    files: int = 0
    contents: int = 0
    reread: int = 0
    wrong: list[str] = field(default_factory=list)


def verify(choose: int, seed: int, storage: Storage = default_storage) -> Verified:
    """Every file and every signed content; the readings of ``choose`` files, which ``seed`` draws."""
    found = Verified()
    for named in named_files(DEFAULT_DB_ALIAS):
        found.files += 1
        there = stored_digest(storage, named.name)
        if there is None:
            found.wrong.append(f"File {named.name} is gone.")
        elif named.sha256 and there != named.sha256:
            found.wrong.append(f"File {named.name} is not what was kept: its SHA-256 is {there}, not {named.sha256}.")
    for wrong in _contents():
        found.contents += 1
        found.wrong += [wrong] if wrong else []
    for upload in _drawn(choose, seed):
        found.reread += 1
        which = f"Upload {upload.key} ({upload.filename})"
        found.wrong += [f"{which}: {words}" for words in differing_readings(upload)]
    return found


def _contents() -> Iterator[str]:
    """What is wrong with each signed content; "" for nothing."""
    for report in Report.objects.order_by("pk").iterator(chunk_size=10):
        try:
            report.prove()
        except ContentAltered as altered:
            yield altered.log
        else:
            yield ""
    for agreement in Agreement.objects.filter(content__isnull=False).order_by("pk").iterator(chunk_size=10):
        whole = agreement.is_whole
        yield "" if whole else f"The content of agreement {agreement.key} is not what was offered."


def _drawn(choose: int, seed: int) -> Iterator[Upload]:
    ids = rereadable()
    drawn = sorted(Random(seed).sample(ids, min(choose, len(ids))))  # noqa: S311 - a sample, not a secret
    yield from Upload.objects.filter(pk__in=drawn).select_related("instrument", "campaign__site").order_by("pk")
