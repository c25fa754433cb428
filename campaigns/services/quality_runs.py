"""Quality runs: made, changed, taken away. Each holds the instruments it is about, and raises ValidationError; then
nothing has changed. An instrument is in one run or at one point at a time."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError

from campaigns.models import Campaign, Deployment, Instrument, QualityRun, RunInstrument
from campaigns.models.campaigns import overlapping
from campaigns.models.quality import FEWEST_BESIDE
from campaigns.services import removal
from campaigns.services.locks import instruments_held
from campaigns.services.records import check, current

FEW = "Side by side stand at least two instruments."
ONE = "A zero run is of one instrument: enter one for each."
CHANGED = "Other instruments have been entered meanwhile. Look again before you change it."


class RunChanges(TypedDict, total=False):
    """What can be changed; what is left out stays. ``kind``: one of ``QualityRun.Kind``; times are moments with a
    zone."""

    kind: str
    place: str
    starts_at: datetime
    ends_at: datetime
    free_of: str
    note: str


def make(campaign: Campaign, instruments: Iterable[Instrument], **entered: Unpack[RunChanges]) -> QualityRun:
    """A run of these instruments."""
    chosen = _each(instruments)
    run = QualityRun(campaign=campaign, **entered)
    with instruments_held(QualityRun, *chosen):
        _look(run, chosen.values())
        run.save(force_insert=True)
        _let_in(run, chosen.values())
    return run


def change(
    run: QualityRun, instruments: Iterable[Instrument] | None = None, **changes: Unpack[RunChanges]
) -> QualityRun:
    """Set what is given. Returns the run as it is then."""
    stands = _members(run)
    chosen = _each(stands.values() if instruments is None else instruments)
    with instruments_held(QualityRun, *stands.keys() | chosen.keys()):
        row = current(run)
        if _members(row).keys() != stands.keys():
            raise ValidationError(CHANGED)
        for name, value in changes.items():
            setattr(row, name, value)
        _look(row, chosen.values())
        row.save(force_update=True)
        for member in row.members.exclude(instrument__in=chosen):
            member.delete()
        _let_in(row, (instrument for pk, instrument in chosen.items() if pk not in stands))
    return row


def remove(run: QualityRun) -> None:
    """Take it away."""
    with instruments_held(QualityRun, *_members(run)):
        removal.remove(run)


def _each(instruments: Iterable[Instrument]) -> dict[int, Instrument]:
    return {instrument.pk: instrument for instrument in instruments}


def _members(run: QualityRun) -> dict[int, Instrument]:
    return _each(member.instrument for member in run.members.select_related("instrument"))


def _let_in(run: QualityRun, instruments: Iterable[Instrument]) -> None:
    for instrument in instruments:
        member = RunInstrument(run=run, instrument=instrument)
        check(member)
        member.save(force_insert=True)


def _look(run: QualityRun, instruments: Iterable[Instrument]) -> None:
    """Raise ValidationError unless the run is in order, and each instrument is free then."""
    check(run)
    chosen = list(instruments)
    if run.is_zero and len(chosen) != 1:
        raise ValidationError({"instruments": ONE})
    if not run.is_zero and len(chosen) < FEWEST_BESIDE:
        raise ValidationError({"instruments": FEW})
    if busy := [words for instrument in chosen if (words := _elsewhere(run, instrument))]:
        raise ValidationError({"instruments": busy})


def _elsewhere(run: QualityRun, instrument: Instrument) -> str:
    """Where the instrument is meanwhile; "" where it is free."""
    meanwhile = overlapping(run.starts_at, run.ends_at)
    stands = Deployment.objects.filter(meanwhile, instrument=instrument).select_related("point__room").first()
    if stands is not None:
        return f"{instrument} is at {stands.point} at that time. An instrument is at one place at a time."
    other = QualityRun.objects.filter(meanwhile, instruments=instrument).exclude(pk=run.pk).first()
    return f"{instrument} is in another run at that time: {other}." if other is not None else ""
