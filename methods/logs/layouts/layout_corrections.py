"""A person's word on how a file is read: answers and corrections put into a layout, and carried to the next file.

Pure. *Places* count the columns of a layout (``Layout.columns``), as questions do; in a long layout several of them
share one index of the file.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from methods.logs.layouts.compiled_layout import stamp_columns, with_stamp_format
from methods.logs.layouts.layout_wording import ROLE_WORDS
from methods.logs.layouts.line_columns import LINE_ROLES, carried
from methods.logs.stamps import stamp_detection
from methods.logs.stamps.date_order import is_undecided, orders, with_form
from methods.logs.stamps.interval_stamps import carried_end
from methods.logs.stamps.lone_times import with_direction
from methods.logs.stamps.number_times import number_forms, without_decimals
from methods.logs.stamps.stamp_formats import NUMERIC, SERIAL_DAY_0, compiled, days_from_civil
from methods.logs.stamps.time_parts import FULL_PARTS, part_format
from methods.logs.text.encodings import renamed
from methods.logs.types import Column, ColumnRole, Layout
from methods.logs.values import fills
from methods.logs.words.unit_spellings import fits, only_unit
from methods.quantities.durations import DAY_MS
from methods.quantities.substances import SUBSTANCES

#: What a column is for, and of a reading the parameter and the unit; None = not known yet.
Choice = tuple[ColumnRole, str | None, str | None]

#: Roles that only sniffing can find: a person leaves them, or puts the column to another use.
AS_UNDERSTOOD = (ColumnRole.PARAMETER, ColumnRole.UNIT, *LINE_ROLES, ColumnRole.SIGN, ColumnRole.HOURLY)
#: Numbers that count time are taken for such only if they lie in these years.
_FIRST_YEAR, _END_YEAR = 1990, 2100


# --- columns ----------------------------------------------------------------------------------------------------------


def with_columns(layout: Layout, choices: Mapping[int, Choice]) -> Layout:
    """``layout`` with the columns at some places put to other uses; ``stamp_format`` is left alone.

    A unit that is not one of its parameter's counts as not known. Raises ValueError for a place or a parameter that
    there is not, and for a column of names or units that was not understood as one: its texts would be unknown.
    """
    columns = list(layout.columns)
    for place, (role, parameter, unit) in choices.items():
        if not 0 <= place < len(columns):
            raise ValueError(f"There is no column {place + 1} in this layout.")
        if role in AS_UNDERSTOOD and columns[place].role is not role:
            raise ValueError(f"Column {place + 1} was not understood as {ROLE_WORDS[role]}.")
        columns[place] = _put_to_use(columns[place], role, parameter, unit)
    return replace(layout, columns=tuple(columns))


def _put_to_use(column: Column, role: ColumnRole, parameter: str | None, unit: str | None) -> Column:
    if role is not ColumnRole.VALUE:
        return replace(column, role=role, parameter=None, unit=None)
    if parameter is None:
        return replace(column, role=role, parameter=None, unit=unit)
    if parameter not in SUBSTANCES:
        raise ValueError(f"“{parameter}” is not a parameter.")
    kept = unit if unit and fits(unit, parameter) else only_unit(parameter)
    is_same = column.parameter == parameter
    probe, scale = (column.probe, column.scale) if is_same else ("", 1.0)
    return replace(column, role=role, parameter=parameter, unit=kept, probe=probe, scale=scale)


def with_time(layout: Layout, rows: Iterable[Sequence[str]]) -> Layout:
    """``layout`` with the stamp format that its time columns show in ``rows``, cells of data lines.

    The order of day and month is settled where a cell settles it. Without a format that fits, ``stamp_format`` is "".
    """
    lines = list(rows)
    cells = [[row[at].strip() for row in lines if at < len(row) and row[at].strip()] for at in stamp_columns(layout)]
    roles = {column.index: column.role for column in layout.columns}
    form = _form_of(cells, [roles[at] for at in stamp_columns(layout)])
    settled = with_direction(with_stamp_format(layout, form), lines)
    return _with_seen_order(settled, cells[0]) if is_undecided(settled) else settled


def _form_of(cells: list[list[str]], roles: list[ColumnRole]) -> str:
    if not cells or not all(cells):
        return ""
    parts = [next(iter(_ways(column, role)), "") for column, role in zip(cells, roles, strict=True)]
    return "\t".join(parts) if all(parts) and _make_one(roles) else ""


def _make_one(roles: list[ColumnRole]) -> bool:
    """Whether the columns are of one stamp: a whole one is alone, and nothing is said twice."""
    has_date = {ColumnRole.DATE, ColumnRole.YEAR, ColumnRole.MONTH, ColumnRole.DAY, ColumnRole.DAY_OF_YEAR} & set(roles)
    whole = (ColumnRole.STAMP in roles and len(roles) > 1) or (ColumnRole.DATE in roles and len(has_date) > 1)
    clocks = ColumnRole.TIME in roles and bool({ColumnRole.HOUR, ColumnRole.MINUTE, ColumnRole.SECOND} & set(roles))
    return not whole and not clocks and len(set(roles)) == len(roles)


def _ways(cells: list[str], role: ColumnRole) -> list[str]:
    """The formats of a column with this role, the likeliest first."""
    if role in FULL_PARTS:
        return [part_format(role, cells)]
    seen = without_decimals(stamp_detection.fits(cells), cells)
    forms = {kind: [fit.text for fit in seen if fit.kind == kind] for kind in _KINDS}
    no_year = stamp_detection.fits_without_year(cells)
    if role is ColumnRole.TIME:
        numbers = number_forms(cells)
        return [*forms["time"], *(numbers if len(numbers) == 1 else ())]
    dates = [*forms["date"], *(fit.text for fit in no_year if fit.kind == "date")]
    if role is ColumnRole.DATE:
        return dates
    lacking = [fit.text for fit in no_year if fit.kind == "datetime"]
    return [*forms["datetime"], *dates, *_counts(cells), *lacking, *(form for form in forms["time"] if ":" in form)]


_KINDS = ("datetime", "date", "time")


def _counts(cells: list[str]) -> list[str]:
    """Formats that take every cell as a count of seconds, milliseconds or days."""
    low, high = ((days_from_civil(year, 1, 1) or 0) * DAY_MS for year in (_FIRST_YEAR, _END_YEAR))
    return [
        form
        for form in sorted(NUMERIC)
        if all((ms := compiled(form).parse(cell)) is not None and low <= ms < high for cell in cells)
    ]


def _with_seen_order(layout: Layout, dates: list[str]) -> Layout:
    """``dates`` are the cells of the column that holds the date, alone or with the time."""
    able = [form for form in orders(layout.stamp_format) if _reads_all(form.partition("\t")[0], dates)]
    return with_form(layout, able[0]) if len(able) == 1 else layout


def _reads_all(form: str, cells: list[str]) -> bool:
    return all(compiled(form).parse(" ".join(cell.split())) is not None for cell in cells)


# --- the next file of the shape ---------------------------------------------------------------------------------------


def carry_over(
    fresh: Layout,
    seen: Layout,
    settled: Layout,
    *,
    asked: Collection[str] = (),
    doubted: Collection[int] = (),
    order: bool = True,
) -> Layout:
    """``fresh``, sniffed from a file, read as a person settled it for an earlier one, which was sniffed as ``seen``.

    What the person said holds; what the file itself shows stays its own: where its data begin (no readings are left
    out, as others were), a unit or an order of the date that differs from what the person saw, new kinds of readings of
    a long file. So does an encoding that it was not seen in before; whether it can be decoded in the person's is the
    caller's to see. ``asked`` are the codes of what the file leaves open, ``doubted`` the places of columns whose
    values were doubted in it: only there holds what was said of such a doubt; ``order``: whether the order of day
    and month that was said may hold for it. Raises ValueError if the shapes differ.
    """
    if fresh.shape_key() != seen.shape_key():
        raise ValueError("The two files are not of the same shape.")
    pairs = {_name(before): (before, after) for before, after in zip(seen.columns, settled.columns, strict=True)}
    columns = tuple(
        _carried(column, *pairs.get(_name(column), (column, column)), is_doubted=at in doubted)
        for at, column in enumerate(fresh.columns)
    )
    if (before := fresh.encoding) == seen.encoding != settled.encoding:
        fresh = replace(fresh, encoding=settled.encoding)
        columns = tuple(renamed(c, before, settled.encoding) for c in columns)
    decimal, thousands = _carried_marks(fresh, seen, settled, asked)
    return replace(
        fresh,
        name=settled.name,
        columns=columns,
        decimal=decimal,
        thousands=thousands,
        missing_codes=settled.missing_codes,
        hours=settled.hours if [at for at, _ in fresh.hours] == [at for at, _ in settled.hours] else fresh.hours,
        first_data_line=max(1, fresh.first_data_line + min(0, settled.first_data_line - seen.first_data_line)),
        **_carried_time(fresh, seen, replace(settled, columns=columns), order),  # type: ignore[arg-type]
    )


def _carried_marks(fresh: Layout, seen: Layout, settled: Layout, asked: Collection[str]) -> tuple[str, str]:
    """A file that shows its decimal mark keeps it; a lone "1.234" shows none, whatever sniffing took it for."""
    was_no_proof = (fresh.decimal, seen.decimal, settled.decimal) == (".", ".", ",")
    if "decimal" in asked or was_no_proof:
        return settled.decimal, settled.thousands
    same = fresh.decimal == settled.decimal
    return fresh.decimal, fresh.thousands or (settled.thousands if same else "")


def _name(column: Column) -> tuple[int, str]:
    """What two files of one shape have in common (see ``Layout.shape_key``)."""
    return column.index, " ".join(column.name.split()).casefold()


def _carried(fresh: Column, seen: Column, settled: Column, *, is_doubted: bool) -> Column:
    return fills.carried(fresh, settled, _in_use(fresh, seen, settled, is_doubted=is_doubted))


def _in_use(fresh: Column, seen: Column, settled: Column, *, is_doubted: bool) -> Column:
    if settled.doubted and not is_doubted:
        return fresh
    says_signs = settled.role is ColumnRole.SIGN and fresh.role is ColumnRole.STATUS
    is_constant = fresh.role is ColumnRole.IGNORE and bool(fresh.seen)
    if says_signs or (settled.role in LINE_ROLES and (fresh.role is settled.role or is_constant)):
        return carried(fresh, seen, settled)
    if _speaks_otherwise(fresh, seen, settled):
        return fresh
    if settled.role is not ColumnRole.VALUE:
        return replace(fresh, role=settled.role, parameter=None, unit=None)
    own = fresh.unit if fresh.unit != seen.unit else None
    unit = own if own and settled.parameter and fits(own, settled.parameter) else settled.unit
    if seen.unit and not fresh.unit and unit and only_unit(settled.parameter or "") is None:
        unit = None  # it stood in the cells, and does not any more
    return replace(settled, index=fresh.index, name=fresh.name, role=ColumnRole.VALUE, unit=unit)


def _speaks_otherwise(fresh: Column, seen: Column, settled: Column) -> bool:
    """Of a column that speaks of its line in one of the files only: nobody was asked, or nothing is to be."""
    began = fresh.role in (*LINE_ROLES, ColumnRole.SIGN) and seen.role is settled.role is ColumnRole.IGNORE
    return began or (settled.role in LINE_ROLES and fresh.role is ColumnRole.IGNORE)


def _carried_time(fresh: Layout, seen: Layout, settled: Layout, order: bool) -> dict[str, object]:
    """The order of day and month is the person's where the file leaves it open, and the file's where it proves it."""
    carried = _carried_format(fresh, seen, settled, order)
    form = str(carried.get("stamp_format", fresh.stamp_format))
    ended = carried_end(form, settled.stamp_format)
    return carried if ended == form else carried | {"stamp_format": ended}


def _carried_format(fresh: Layout, seen: Layout, settled: Layout, order: bool) -> dict[str, object]:
    clock: dict[str, object] = {}
    if (fresh.basis, fresh.utc_offset) == (seen.basis, seen.utc_offset):
        clock = {"basis": settled.basis, "utc_offset": settled.utc_offset}
    theirs = {"stamp_format": settled.stamp_format, "day_first": settled.day_first} | clock
    if stamp_columns(fresh) != stamp_columns(settled):
        return theirs
    if fresh.stamp_format in SERIAL_DAY_0 and settled.stamp_format in SERIAL_DAY_0:
        return theirs
    if fresh.day_first is not None or (is_undecided(fresh) and not order):
        return clock
    same_kind = fresh.stamp_format == seen.stamp_format or settled.stamp_format in orders(fresh.stamp_format)
    return theirs if same_kind else {}
