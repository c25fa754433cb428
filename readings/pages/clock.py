"""What the clock page shows: the pictures, the places where the clock may have been set, the checks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from campaigns.models import ClockCheck, ClockReset, Instrument
from campaigns.services.instrument_state import in_words
from methods.clock import Basis, CheckedOffset, ClockModel, Reset, spoken
from methods.clock.zones import transitions
from methods.quantities.arrays import Ints
from methods.quantities.digits import in_digits
from methods.quantities.durations import DAY_MS, MINUTE_MS
from methods.quantities.moments import stamp_text, utc_moment, utc_ms
from readings.models import Upload
from readings.queries.bursts import Laid, Stretch
from readings.services.clock_confirmation import offered

Told = dict[str, Any]

#: The picture is this wide in units of its own; nothing in it is narrower than ``LEAST``.
WIDE, LEAST = 1000, 2
#: A picture of more than this shows the day on which most was logged.
LONGEST_MS = 36 * 60 * MINUTE_MS


def local(ms: int, zone: ZoneInfo) -> str:
    return f"{utc_moment(ms).astimezone(zone):%Y-%m-%d %H:%M:%S}"


def how_far(offset_ms: int) -> str:
    """An offset true − shown to the second: ``61 min 3 s slow``."""
    words = in_words(-offset_ms)
    return words.replace("behind", "slow").replace("ahead", "fast")


#: Of a clock that nobody looked at nothing is known, also not that it is right.
UNCHECKED = "no clock check was entered: its stamps are taken as they stand"


def used_words(stretch: Stretch) -> str:
    """Which offset holds in a stretch now."""
    return how_far(stretch.used_ms) if stretch.checked or stretch.used_ms else UNCHECKED


# --- bursts beside deployments ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Lane:
    """One row of the picture: bars as (x, width) of ``WIDE``."""

    name: str
    kind: str
    bars: list[tuple[float, float]]


@dataclass(frozen=True)
class ClockPicture:
    lanes: list[Lane]
    begin: str
    end: str
    words: str


def picture(stretch: Stretch, zone: ZoneInfo) -> ClockPicture:
    """Deployments, bursts as the clock stands, and bursts as suggested, on one axis of time."""
    suggested = stretch.suggestion.offset_ms
    if suggested is not None and abs(suggested - stretch.used_ms) <= MINUTE_MS:
        suggested = None  # it would be drawn twice
    moved = None if suggested is None else stretch.nominal + suggested
    shown = [stretch.placed] if moved is None else [stretch.placed, moved]
    low, high = _range(shown, stretch.spans)
    lanes = [
        Lane("Deployments", "deployed", _bars(stretch.spans, low, high)),
        Lane("Logged, as its clock stands", "logged", _bars(stretch.placed, low, high)),
    ]
    if moved is not None and suggested is not None:
        lanes.append(Lane(f"Logged, if it is {spoken(suggested)}", "moved", _bars(moved, low, high)))
    now, total = stretch.fits_now[0], len(stretch.nominal)
    words = f"As its clock stands {now} of {total} bursts fall on a deployment"
    if suggested is not None:
        words += f"; if it is {spoken(suggested)}, {stretch.fits_at(suggested)[0]} do"
    return ClockPicture(lanes, local(low, zone)[:16], local(high, zone)[:16], words + ".")


def _range(shown: Sequence[Ints], spans: Ints) -> tuple[int, int]:
    logged = np.concatenate(shown)
    low, high = int(logged.min()), int(logged.max())
    if high - low > LONGEST_MS:
        days = shown[-1][:, 0] // DAY_MS
        busy, counts = np.unique(days, return_counts=True)
        low = int(busy[counts.argmax()]) * DAY_MS
        high = low + DAY_MS
    near = spans[(spans[:, 1] > low) & (spans[:, 0] < high)]
    if len(near):
        low, high = min(low, int(near[:, 0].min())), max(high, min(int(near[:, 1].max()), high + DAY_MS))
    edge = max(MINUTE_MS, (high - low) // 50)
    return low - edge, high + edge


def _bars(spans: Ints, low: int, high: int) -> list[tuple[float, float]]:
    scale = WIDE / (high - low)
    inside = spans[(spans[:, 1] > low) & (spans[:, 0] < high)]
    starts = np.maximum(inside[:, 0], low)
    widths = np.maximum((np.minimum(inside[:, 1], high) - starts) * scale, LEAST)
    return [(round(float(x), 1), round(float(w), 1)) for x, w in zip((starts - low) * scale, widths, strict=True)]


# --- what the bursts say ----------------------------------------------------------------------------------------------


def stretches(laid_log: Laid, zone: ZoneInfo) -> list[Told]:
    """For each stretch between two settings of the clock: the picture, the sentence, what can be confirmed."""
    return [
        _stretch(k, stretch, zone, several=len(laid_log.stretches) > 1) for k, stretch in enumerate(laid_log.stretches)
    ]


def _stretch(k: int, stretch: Stretch, zone: ZoneInfo, *, several: bool) -> Told:
    first, last = int(stretch.bursts.first[0]), int(stretch.bursts.last[-1])
    suggestion = stretch.suggestion
    used = stretch.used_ms
    differs = suggestion.offset_ms is not None and abs(suggestion.offset_ms - used) > MINUTE_MS
    return {
        "index": k,
        "name": f"From {stamp_text(first)} to {stamp_text(last)}, as the logger showed it" if several else "",
        "shown": f"{stamp_text(first)} to {stamp_text(last)}",
        "placed": f"{local(int(stretch.placed[0, 0]), zone)} to {local(int(stretch.placed[-1, 1]), zone)}",
        "used": used_words(stretch),
        "checked": stretch.checked,
        "doubtful": stretch.doubtful,
        "sentence": suggestion.sentence,
        "confidence": f"{suggestion.confidence:.2f}",
        "speaks": suggestion.speaks,
        "differs": differs,
        "picture": picture(stretch, zone) if len(stretch.spans) else None,
        "offers": _offers(stretch, used) if not suggestion.speaks or differs else [],
    }


def _offers(stretch: Stretch, used_ms: int) -> list[Told]:
    """The suggestion alone where it speaks; else with its runners-up, for a person who knows."""
    offers = offered(stretch)
    if stretch.suggestion.speaks:
        offers = offers[:1]
    return [
        {
            "offset": offer.offset_ms,
            "words": spoken(offer.offset_ms),
            "exact": how_far(offer.offset_ms),
            "fit": f"{offer.matched} of {stretch.suggestion.total}",
        }
        for offer in offers
        if abs(offer.offset_ms - used_ms) > MINUTE_MS
    ]


# --- where the clock may have been set --------------------------------------------------------------------------------


def resets(laid_log: Laid, answers: Sequence[ClockReset], zone: ZoneInfo) -> list[Told]:
    """Places in this file, each with its question or its answer."""
    by_place = {(a.before_ms, a.after_ms): a for a in answers}
    return [_reset(reset, by_place.get(reset.place), laid_log, zone) for reset in laid_log.resets]


def _reset(reset: Reset, answer: ClockReset | None, laid_log: Laid, zone: ZoneInfo) -> Told:
    before, after = stamp_text(reset.before_ms), stamp_text(reset.after_ms)
    if reset.kind == "backward":
        words = f"The stamps step back from {before} to {after}."
    else:
        words = (
            f"Two clock checks differ by {in_words(reset.size_ms).rpartition(' ')[0]}, which is no drift. The longest "
            f"gap between them is from {before} to {after}; is that where the clock was set?"
        )
    back = reset.before_ms + laid_log.bursts.interval_ms - reset.after_ms
    return {
        "kind": reset.kind,
        "before": reset.place[0],
        "after": reset.place[1],
        "words": words,
        "minutes": in_digits(back / MINUTE_MS, 10) if reset.kind == "backward" else "",
        "last_shown": before,
        "hour": _end_of_summer_time(reset, back, laid_log.clock, zone),
        "answer": answer,
        "answered": answer_words(answer) if answer else "",
        "choices": ClockReset.Answer.choices if reset.kind == "backward" else (),
    }


def answer_words(answer: ClockReset) -> str:
    said = answer.get_answer_display()
    if answer.kind == ClockReset.Kind.JUMP:
        return "It was set" + (f" after it showed {stamp_text(answer.place_ms)}." if answer.place_ms else " there.")
    if answer.by_ms is None:
        return said + "."
    way = "back" if answer.by_ms > 0 else "forward"
    return f"{said}. Put {way} by {in_words(answer.by_ms).rpartition(' ')[0]}."


def _end_of_summer_time(reset: Reset, back_ms: int, clock: ClockModel, zone: ZoneInfo) -> str:
    """Where the step is the length of a clock change within a day of one at the site, that is said."""
    if reset.kind != "backward" or clock.basis.kind == "zone":
        return ""
    table = transitions(zone.key, reset.after_ms - 2 * DAY_MS, reset.before_ms + 2 * DAY_MS)
    for k, at in enumerate(table.at.tolist()):
        length = int(table.offsets[k] - table.offsets[k + 1])
        if abs(at - reset.before_ms) <= DAY_MS and length > 0 and abs(back_ms - length) <= 5 * MINUTE_MS:
            return (
                f"Clocks in {zone.key} went back by {length // MINUTE_MS} min on {local(at, zone)[:10]}. If this "
                "instrument follows summer time by itself, say so among its facts: clock “local time of the site”."
            )
    return ""


# --- checks and logs --------------------------------------------------------------------------------------------------


def checks(rows: Sequence[ClockCheck], clock: ClockModel, zone: ZoneInfo) -> list[Told]:
    """The checks in turn, each with the clock's offset and how far it lies from an even drift."""
    by_check: dict[tuple[int, int], CheckedOffset] = {
        (item.check.true_utc_ms, item.check.shown_ms): item for item in clock.offsets()
    }
    told = []
    for row in rows:
        at = utc_ms(row.at)
        item = by_check[(at, row.taken_ms)]
        told.append(
            {
                "check": row,
                "at": local(at, zone),
                "shown": row.shown,
                "offset": how_far(item.offset_ms) + (", give or take 30 s" if row.to_minute else ""),
                "residual": f"{item.residual_ms / 1000:+.0f} s" if len(by_check) > 2 else "–",
                "from_bursts": row.origin == ClockCheck.Origin.BURSTS,
            }
        )
    return told


def basis_words(basis: Basis, instrument: Instrument) -> str:
    return f"{instrument.get_clock_basis_display()}: {basis.text}"


def logs(laid_logs: Sequence[Laid], zone: ZoneInfo, chosen: Upload | None) -> list[Told]:
    """What the model says over the stamps held, file by file."""
    told = []
    for laid_log in laid_logs:
        offsets = {used_words(stretch) for stretch in laid_log.stretches}
        told.append(
            {
                "upload": laid_log.upload,
                "shown": " to ".join(
                    stamp_text(int(edge)) for edge in (laid_log.bursts.first.min(), laid_log.bursts.last.max())
                ),
                "placed": f"{local(min(int(s.placed.min()) for s in laid_log.stretches), zone)} to "
                f"{local(max(int(s.placed.max()) for s in laid_log.stretches), zone)}",
                "offset": " / ".join(sorted(offsets)),
                "fit": f"{sum(s.fits_now[0] for s in laid_log.stretches)} of {len(laid_log.bursts)}",
                "doubtful": any(s.doubtful for s in laid_log.stretches),
                "chosen": chosen is not None and laid_log.upload.pk == chosen.pk,
            }
        )
    return told
