"""What a file is: every reader makes its sketch, the best one is taken, and the rest is asked."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from methods.logs import delimited, fixed, jsonlines, messages
from methods.logs.files.sources import Source, open_source
from methods.logs.files.workbook import BookSketch, book_sketch
from methods.logs.layouts.compiled_layout import make_plan
from methods.logs.layouts.layout_answers import in_order
from methods.logs.other_tables import asked_of_others
from methods.logs.refusals import no_log
from methods.logs.row_reader import ProblemLog, RowReader
from methods.logs.second_look import LEAST, second_look
from methods.logs.sketch import Sketch, looks_like_data
from methods.logs.stamps.future import leave_out_future
from methods.logs.stamps.start_questions import start_question
from methods.logs.survey import survey
from methods.logs.survey_conclusions import settle, wanted_of
from methods.logs.text.encoding_choice import sketch_of
from methods.logs.text.sample import FileSample, take_sample
from methods.logs.types import ColumnRole, LogProblem, Understanding, Unreadable
from methods.logs.values.cells import is_formula
from methods.logs.values.fills import doubt_fills, without_fills
from methods.logs.values.plausible import plausibility_questions
from methods.logs.words.serial_numbers import find_serials, is_serial_name, with_digits

PREVIEW = 30
#: Problems of the first lines that are shown with the preview.
SHOWN_PROBLEMS = 20
#: Until these are answered no line can be read.
UNREAD = frozenset(("month_language",))


def understand(path: Path, *, name: str, sheet: str = "", handed_in: date | None = None) -> Understanding:
    """Never raises for bad content: then ``layout`` is None and ``problems`` say why.

    ``name`` of the file and the day on which it was ``handed_in`` are for messages, to suggest the date of stamps
    without one, and to leave out what would put all readings behind it. ``sheet`` is the sheet of a workbook that
    somebody chose. Where it is to be chosen and was not, nothing else is asked, and ``layout`` is that of one of them.
    ``problems`` are those of the first lines; :func:`read` finds them all.
    """
    try:
        return _understand(path, name, sheet, handed_in)
    except Unreadable as error:
        return Understanding(None, problems=tuple(error.problems))


def _understand(path: Path, name: str, sheet: str, handed_in: date | None) -> Understanding:
    best, sample, book = _best_sketch(path, sheet)
    if best is None:
        return _no_log(sample, name, book)
    if refused := _refused(best):
        return Understanding(None, problems=(refused,), preview=_preview(best))
    if book is not None and book.question is not None:
        return Understanding(best.layout, (book.question,), preview=_preview(best), sheets=book.seen)
    best.put(shape=best.layout.shape_key())
    leave_out_future(best, handed_in)
    wanted = wanted_of(best, complete=sample.complete)
    problems = settle(best, wanted, survey(path, best.layout, best.width, wanted)) if wanted else []
    far = doubt_fills(best)
    if not any(
        question.code in ("decimal", "mixed_decimals") for question in best.questions
    ):  # until then no value is known
        best.questions += [*plausibility_questions(best), *far]
    if start := start_question(best, name, handed_in):
        best.questions.append(start)
    if sample.cut_off:
        problems.append(messages.problem(0, "", "", "truncated_file"))
    problems += _readings_above(best)
    problems += book.problems if book is not None else ()
    return Understanding(
        layout=best.layout,
        questions=in_order(best.questions),
        problems=(*problems, *([] if any(q.code in UNREAD for q in best.questions) else _trial(best))),
        preview=_preview(best),
        confidence=round(best.score, 3),
        serials=_serials(best, sample),
        sheets=book.seen if book is not None else (),
    )


def _best_sketch(path: Path, sheet: str) -> tuple[Sketch | None, FileSample, BookSketch | None]:
    """None where the file is no log; the lines that were looked at, and of a workbook what its sheets are."""
    book: BookSketch | None = None
    with open_source(path) as source:
        if source.book is not None:
            book = book_sketch(source, sheet)
            best, sample = book.sketch, book.sample
        else:
            sketches, sample = _sketches(source)
            best = max(sketches, key=lambda sketch: sketch.score, default=None)
    is_poor = best is None or (best.score < LEAST and not _is_timed_by_formulas(best))
    if not is_poor:
        return best, sample, book
    if book is not None or (sample.lines and jsonlines.is_object(sample.lines[0])):
        return asked_of_others([best] if best is not None else []), sample, book
    return (*second_look(path), book)


def _refused(sketch: Sketch) -> LogProblem | None:
    """Why what is surely a log cannot be read."""
    if _is_timed_by_formulas(sketch):
        return messages.formulas_for_times()
    if sketch.flaw[0]:
        line, names = sketch.flaw
        return messages.comma_inside(line, names, sketch.width)
    return sketch.refused


def _is_timed_by_formulas(sketch: Sketch) -> bool:
    """Whether the one column that is called a time holds formulas without results."""
    cells = [sketch.cells(at) for at, named in enumerate(sketch.headings) if named.time_word]
    return bool(cells) and all(2 * sum(map(is_formula, column)) > len(column) for column in cells)


def _readings_above(sketch: Sketch) -> list[LogProblem]:
    """Lines like those of the data above the names: of a file whose columns are named again further down."""
    names = sketch.layout.header_line
    if not names:
        return []
    above = [
        line for line, row in enumerate(sketch.rows[: names - 1], 1) if looks_like_data(row) == sketch.weight == 10
    ]
    return [messages.lines_above(above[0], len(above), names)] if len(above) > 1 else []


def _serials(sketch: Sketch, sample: FileSample) -> tuple[str, ...]:
    """Those above the data, and those in a column of their own."""
    end = sketch.layout.header_line or sketch.layout.first_data_line
    above = find_serials(list(sample.lines[: end - 1]))
    columns = [c for c in sketch.layout.columns if c.role is ColumnRole.IGNORE and is_serial_name(c.name)]
    return with_digits([*above, *(cell[:40] for column in columns for cell in sketch.cells(column.index))])


def _sketches(source: Source) -> tuple[list[Sketch], FileSample]:
    """What each reader makes of the text, and its first lines."""
    sample = take_sample(source)
    best = sketch_of(sample, _text_sketches)
    return [best] if best is not None else [], sample


def _text_sketches(sample: FileSample) -> list[Sketch]:
    return jsonlines.sketches(sample) or delimited.without_outdone(
        [*delimited.sketches(sample), *fixed.sketches(sample)]
    )


def _preview(sketch: Sketch) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(row) for row in sketch.rows[:PREVIEW])


def _trial(sketch: Sketch) -> list[LogProblem]:
    """What is wrong with the first lines and not asked about, where the layout is settled enough to read them."""
    log = ProblemLog(cap=SHOWN_PROBLEMS)
    try:
        reader = RowReader(make_plan(without_fills(sketch.layout)), log)
    except Unreadable:
        return []
    first = sketch.layout.first_data_line
    for line, row in enumerate(sketch.rows[first - 1 :], first):
        reader.read(line, row)
    return log.drain()


def _no_log(sample: FileSample, name: str, book: BookSketch | None) -> Understanding:
    return Understanding(
        None,
        problems=(_why_none(sample, name, book),),
        preview=tuple((line[:200],) for line in sample.lines[:PREVIEW]),
    )


def _why_none(sample: FileSample, name: str, book: BookSketch | None) -> LogProblem:
    start = "".join(sample.lines[:1]).lstrip()[:1]
    if book is not None:
        return no_log(sample, name, [book.sketch] if book.sketch is not None else [])
    if start == "<" and "<?xml" in sample.lines[0]:
        return messages.other_markup()
    if start not in ("[", "{"):
        return no_log(sample, name, delimited.sketches(sample))
    if not jsonlines.is_object(sample.lines[0]):
        return messages.json_document()
    if under := jsonlines.lists_in(sample):
        return messages.json_lists(under)
    return no_log(replace(sample, lines=()), name, jsonlines.sketches(sample))  # lines that need be no table
