"""What is made of an upload before anything is stored: understood, asked, settled, and kept for the next file.

The job understands the file once and leaves on the upload what was understood and what has to be asked: the order of
day and month comes from the whole file, which is too much to go through each time somebody changes a choice on the
page, and the page then asks just what the job stopped at. Reading goes on with exactly the layout that was settled.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from django.db import transaction

from campaigns.models import User
from campaigns.signals import inputs_changed
from methods import logs
from methods.logs.bounded import within
from methods.logs.layouts.layout_answers import in_order, is_unanswered, questions_left
from methods.logs.layouts.layout_corrections import carry_over
from methods.logs.layouts.layout_wording import describe
from methods.logs.sketch import Sketch
from methods.logs.text.encoding_choice import with_encoding
from methods.logs.text.sample import could_be_in
from methods.logs.types import CHOICE, Layout, LayoutQuestion, LogProblem
from methods.logs.values.plausible import plausibility_questions
from readings.models import LookFirst, Reading, SavedLayout, Upload
from readings.services.affected_campaigns import fed_by
from readings.services.carried_order import order_may_hold
from readings.services.column_channels import without_strange_columns
from readings.services.prefetch import meanwhile, patiently
from readings.services.preview import first_rows
from readings.services.probes import with_probes
from readings.services.receive import ask_to_read, is_running

#: Confidence is the share of the first 400 lines, from the first data line on, that are data, a tenth less where no
#: line names the columns, a fiftieth less for fixed columns. Logs in daily use reach 0.9 and more; a short one with
#: totals below it, or with text in one of three lines, stays above 0.65. Below 0.6 four lines in ten are something else
#: than the layout says, and the layout may be at fault, not the lines. A layout that leaves a column's parameter or
#: unit open is asked about at any confidence.
CONFIDENT = 0.6
#: Questions that one file cannot answer for another.
OF_EACH_FILE = ("twelve_hours", "swapped_dates", "still_date", "few_lines")
NO_NAMES = (
    "This file does not name its columns: see whether they are those of the files for which “{}” was kept, and confirm "
    "it or correct it."
)


@dataclass(frozen=True)
class Understood:
    """What to do with a file: read it with ``layout``, or wait for a person.

    ``seen`` is the layout as it was sniffed, ``base`` with what a saved layout says about files of its shape,
    ``layout`` the one to read with; all None for what is no log. ``look`` says why a person should look first.
    ``sheets``: where more than one could be read, their titles and what is said of each.
    """

    seen: Layout | None
    base: Layout | None
    layout: Layout | None
    questions: tuple[LayoutQuestion, ...] = ()
    problems: tuple[LogProblem, ...] = ()
    serials: tuple[str, ...] = ()
    look: str = ""
    settled: bool = False
    sheets: tuple[tuple[str, str], ...] = ()

    @property
    def asks_sheet(self) -> bool:
        """Whether a sheet is to be chosen before anything else can be asked."""
        return any(question.code == "sheet" for question in self.questions)

    @property
    def waits(self) -> bool:
        return not self.settled and bool(self.questions or self.look)

    def asked(self) -> Iterator[LogProblem]:
        """What is to be decided, as problems of the whole file, or of a column at its heading."""
        for question in self.questions:
            line, column = self._heading(question)
            yield LogProblem(line, column, "", question.code, question.message)
        if self.look:
            yield LogProblem(0, "", "", "look-first", self.look)

    def _heading(self, question: LayoutQuestion) -> tuple[int, str]:
        if question.column is None or self.layout is None:
            return 0, ""
        return self.layout.header_line, self.layout.columns[question.column].name

    def kept(self) -> dict[str, Any] | None:
        """What ``recall`` needs, in plain JSON types."""
        if self.seen is None or self.base is None:
            return None
        return {
            "seen": self.seen.to_json(),
            "base": self.base.to_json(),
            "shape": self.seen.shape_key(),
            "questions": [asdict(question) for question in self.questions],
            "look": self.look,
            "waits": self.waits,
            "sheets": self.sheets,
        }


def understand(upload: Upload, path: Path, waiting: Callable[[], None] = patiently) -> Understood:
    """Sniff the file, and put to use what people said: of this very file, or of files of its shape. ``waiting`` is
    called every second that sniffing takes."""
    understanding = _sniffed(upload, path, waiting)
    if _asks_for_sheet(understanding):
        return _which_sheet(understanding)
    settled = Layout.from_json(upload.settled) if upload.settled else None
    base, questions, look = understanding.layout, understanding.questions, ""
    if understanding.layout is not None:
        base, questions, look = _with_what_is_kept(upload, path, understanding, understanding.layout)
        if upload.instrument is not None:
            rows = [list(cells) for cells in understanding.preview]
            base, questions = without_strange_columns(base, questions, upload.instrument, rows)
            base, questions = with_probes(base, questions, upload.instrument, rows)
    return Understood(
        seen=understanding.layout,
        base=base,
        layout=settled or base,
        questions=questions,
        problems=understanding.problems,
        serials=understanding.serials,
        look=look,
        settled=settled is not None,
        sheets=_sheets(understanding),
    )


def _sniffed(upload: Upload, path: Path, waiting: Callable[[], None]) -> logs.Understanding:
    """Of the sheet that somebody chose, or that a layout kept for the shape names."""
    chosen = upload.sheet or (upload.settled or {}).get("sheet", "")  # what was settled stays, whatever is kept now
    name, day = upload.filename, upload.created_at.date()

    def understood(sheet: str) -> logs.Understanding:
        return meanwhile(partial(logs.understand, path, name=name, sheet=sheet, handed_in=day), waiting)

    understanding = understood(chosen)
    kept = _kept_sheet(upload, understanding) if _asks_for_sheet(understanding) else ""
    return understood(kept) if kept else understanding


def _asks_for_sheet(understanding: logs.Understanding) -> bool:
    return any(question.code == "sheet" for question in understanding.questions)


def _with_what_is_kept(
    upload: Upload, path: Path, understanding: logs.Understanding, fresh: Layout
) -> tuple[Layout, tuple[LayoutQuestion, ...], str]:
    """``fresh`` with what a layout kept for its shape says, what is still asked, and why a person should look first."""
    organisation_id = upload.campaign.site.organisation_id
    saved = SavedLayout.objects.filter(organisation=organisation_id, shape_key=fresh.shape_key()).first()
    if saved is None:
        return fresh, understanding.questions, _reason_to_look(understanding, organisation_id)
    asked = {question.code for question in understanding.questions}
    before, said = Layout.from_json(saved.seen), Layout.from_json(saved.content)
    order = order_may_hold(upload, path, fresh, said)
    doubted = {q.column for q in understanding.questions if q.code == "doubtful" and q.column is not None}
    base = carry_over(fresh, before, said, asked=asked, doubted=doubted, order=order)
    if not within(path, partial(could_be_in, path, base.encoding)):
        base = with_encoding(base, fresh.encoding)
    questions = [*_still_open(base, understanding.questions), *_doubts_of(path, base, understanding.questions)]
    return base, in_order(questions), "" if _tells_columns(base) else NO_NAMES.format(base.name)


def _which_sheet(understanding: logs.Understanding) -> Understood:
    layout, (question,) = understanding.layout, understanding.questions
    return Understood(layout, layout, layout, (question,), sheets=question.choices)


def _sheets(understanding: logs.Understanding) -> tuple[tuple[str, str], ...]:
    return tuple((s.title, f"{s.title} (hidden)" if s.hidden else s.title) for s in understanding.sheets)


def _kept_sheet(upload: Upload, understanding: logs.Understanding) -> str:
    """The one sheet of the file that a layout kept for its shape names; "" if there is none, or more than one."""
    shapes = {sheet.title: sheet.shape for sheet in understanding.sheets}
    held = SavedLayout.objects.filter(organisation=upload.campaign.site.organisation_id, shape_key__in=shapes.values())
    kept = {saved.content["sheet"] for saved in held if shapes.get(saved.content["sheet"]) == saved.shape_key}
    return kept.pop() if len(kept) == 1 else ""


def recall(upload: Upload) -> Understood | None:
    """What the job left on the upload; None if it has not come to that, or the file is no log."""
    kept = upload.understood
    if not kept:
        return None
    base = Layout.from_json(kept["base"])
    return Understood(
        seen=Layout.from_json(kept["seen"]),
        base=base,
        layout=Layout.from_json(upload.settled) if upload.settled else base,
        questions=tuple(
            LayoutQuestion(
                q["code"],
                q["message"],
                tuple((value, words) for value, words in q["choices"]),
                q["column"],
                q.get("answer_kind", CHOICE),
            )
            for q in kept["questions"]
        ),
        look=kept["look"],
        settled=bool(upload.settled),
        sheets=tuple((title, words) for title, words in kept.get("sheets", ())),
    )


def _tells_columns(layout: Layout) -> bool:
    """Whether columns that changed places would be seen."""
    return len(layout.values) < 2 or any(column.name for column in layout.columns)


def _doubts_of(path: Path, base: Layout, asked: tuple[LayoutQuestion, ...]) -> list[LayoutQuestion]:
    """What speaks against this file whatever was said of others: values that can hardly be what the kept layout makes
    of them, and what the order of its stamps gives away."""
    data = [list(cells) for line, cells in first_rows(path, base) if line >= base.first_data_line]
    doubts = plausibility_questions(Sketch(base, data, data, 10)) if not questions_left(base) else []
    return [*doubts, *(question for question in asked if question.code in OF_EACH_FILE)]


def _still_open(layout: Layout, asked: tuple[LayoutQuestion, ...]) -> tuple[LayoutQuestion, ...]:
    """What a saved layout does not answer, such as a new kind of reading, in the words in which it was first asked."""
    words = {(question.code, question.column): question for question in asked}
    left = [words.get((question.code, question.column), question) for question in questions_left(layout)]
    return tuple([*(question for question in asked if is_unanswered(layout, question)), *left])


def _reason_to_look(understanding: logs.Understanding, organisation_id: int) -> str:
    rule = LookFirst.rule_of(organisation_id)
    if rule == LookFirst.When.NEW:
        return "This is the first file of its shape: look at how it was understood, and confirm it or correct it."
    if rule == LookFirst.When.DOUBTFUL and understanding.confidence < CONFIDENT:
        return (
            "Many lines of this file do not look like readings: look at how it was understood, and confirm it or "
            "correct it."
        )
    return ""


# --- what a person settles --------------------------------------------------------------------------------------------


RUNNING = "The file is being read just now: wait until that has ended."


class Fixed(Exception):
    """The layout cannot be changed any more, or not now; the message says why."""


def why_fixed(upload: Upload) -> str:
    """Why the layout of ``upload`` cannot be changed; "" if it can."""
    if upload.withdrawn:
        return "This file is withdrawn: it is read another way from its page."
    if _has_readings(upload):
        return (
            "Readings of this file are stored. A reading is never altered, so the layout they were read with stays as "
            "it is."
        )
    return RUNNING if is_running(upload) else ""


def _has_readings(upload: Upload) -> bool:
    """By the count, and where a worker was stopped before it could count, by the readings themselves."""
    if upload.stored:
        return True
    held = Reading.objects.filter(channel__instrument=upload.instrument_id, upload=upload)
    return upload.settled is not None and upload.instrument_id is not None and held.exists()


class Overtaken(Fixed):
    """The answers are to questions that are not asked any more."""


OVERTAKEN = "Meanwhile the file was understood or settled otherwise: this is how it stands now. Look at it again."


def standing(upload: Upload) -> str:
    """A digest of what is asked about ``upload`` and what was settled, for a page to say what it answers."""
    stands = json.dumps([upload.understood, upload.settled], sort_keys=True)
    return hashlib.sha256(stands.encode()).hexdigest()[:32]


def settle(
    upload: Upload, layout: Layout, by: User, *, keep_as: str = "", represents: str = "", answers: str | None = None
) -> int:
    """Read ``upload`` with ``layout``; with ``keep_as``, keep the layout under that name for files of this shape.

    ``represents``: what the kept layout says a stored value is; "" leaves it to the instrument type.

    ``answers``: the ``standing`` that was before the person's eyes.

    Returns how many other files that were waiting are read with it. Raises Fixed when it is too late, and Overtaken
    where something else is asked meanwhile, or somebody else has settled it.
    """
    with transaction.atomic():
        # A worker takes the row in the same way (``taken_up``): it either sees what is settled here, or is seen.
        locked = Upload.objects.select_for_update(of=("self",)).select_related("campaign__site").get(pk=upload.pk)
        if reason := why_fixed(locked):
            raise Fixed(reason)
        if answers is not None and answers != standing(locked):
            raise Overtaken(OVERTAKEN)
        locked.settled = (replace(layout, name=keep_as) if keep_as else layout).to_json()
        locked.save(update_fields=["settled"])
        ask_to_read(locked, by)
        return keep_layout(locked, layout, by, keep_as, represents)[1] if keep_as else 0


def keep_as_read(upload: Upload, by: User, name: str, represents: str) -> int:
    """Keep the layout with which the readings of ``upload`` were stored, for files of its shape.

    Returns how many files that were waiting are read with it. Raises Fixed while the file is being read, or where
    nothing of it was.
    """
    with transaction.atomic():
        locked = Upload.objects.select_for_update(of=("self",)).select_related("campaign__site").get(pk=upload.pk)
        if locked.withdrawn or is_running(locked) or not locked.settled or recall(locked) is None:
            raise Fixed(RUNNING if is_running(locked) else "Nothing of this file was read yet.")
        layout = replace(Layout.from_json(locked.settled), name=name)
        locked.kept_layout, others = keep_layout(locked, layout, by, name, represents)
        locked.settled = locked.layout = layout.to_json()
        locked.save(update_fields=["kept_layout", "settled", "layout"])
        if represents:
            inputs_changed.send(Upload, campaign_ids=fed_by(Upload.objects.filter(pk=locked.pk)))
        return others


def taken_up(upload_id: int) -> Upload:
    """The upload as it is to be read now, after whoever is settling its layout has finished."""
    with transaction.atomic():
        rows = Upload.objects.select_for_update(of=("self",)).select_related("campaign__site", "instrument")
        return rows.get(pk=upload_id)


def keep_layout(upload: Upload, layout: Layout, by: User, name: str, represents: str) -> tuple[SavedLayout, int]:
    """The layout for the next files of the shape, and how many that are waiting already are read with it.

    In the caller's transaction, which holds ``upload``.
    """
    understood = recall(upload)
    assert understood is not None  # there was a page to settle it on
    assert understood.seen is not None
    organisation_id, shape = upload.campaign.site.organisation_id, understood.seen.shape_key()
    content = replace(layout, name=name).to_json()
    seen, reads = understood.seen.to_json(), describe(layout)
    words = {"name": name, "content": content, "seen": seen, "reads": reads, "represents": represents}
    kept, _ = SavedLayout.objects.update_or_create(
        organisation_id=organisation_id, shape_key=shape, defaults=words, create_defaults={**words, "made_by": by}
    )
    waiting = Upload.objects.filter(
        campaign__site__organisation=organisation_id,
        state=Upload.State.ATTENTION,
        settled__isnull=True,
        understood__shape=shape,
        understood__waits=True,
    ).exclude(pk=upload.pk)
    others = list(waiting.select_related("campaign__site"))
    for other in others:
        ask_to_read(other, by)
    return kept, len(others)


def kept_for(upload: Upload, understood: Understood | None) -> SavedLayout | None:
    """The kept layout that the file is read with: a layout that was not kept, or was changed for it, has no name."""
    if understood is None or understood.seen is None or not (understood.layout and understood.layout.name):
        return None
    held = SavedLayout.objects.filter(organisation=upload.campaign.site.organisation_id)
    return held.filter(shape_key=understood.seen.shape_key()).first()
