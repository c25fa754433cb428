"""One value cell, read with care: numbers, "<0.01", ">5", codes for errors and missing values, units in the cell."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from methods.logs.words.unit_spellings import read_unit
from methods.quantities.flags import Flag

#: Common practice, no source: what loggers print where they have no value.
MISSING_WORDS = (
    "nan", "n/a", "na", "#n/a", "null", "none", "nil", "err", "error", "fault", "fail", "failed", "invalid", "bad",
    "missing", "no data", "nodata", "#value!", "#error", "#err", "warmup", "warm-up", "off", "stop",
)  # fmt: skip
#: Numbers no parameter of ours can take (temperatures included) that are in common use for "no value".
MISSING_NUMBERS = ("-99", "-99.9", "-99.99", "-200", "-999", "-999.9", "-999.99", "-9999", "-99999")
DEFAULT_MISSING = (*MISSING_NUMBERS, *MISSING_WORDS)
OVER_WORDS = frozenset(
    ("ol", "o.l.", "+ol", "ovl", "ofl", "over", "overrange", "over range", "over-range", "overload", "overflow", ">>>")
)
BELOW_WORDS = frozenset(
    ("nd", "n.d.", "bdl", "<dl", "<lod", "<loq", "lod", "under", "underrange", "under range", "-ol", "<<<", "<mdl")
)
_RULES_ONLY = re.compile(r"[-–—_.*#?/]+")
_BLANKS = str.maketrans(
    {"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2212": "-", "\u2013": "-", "\u2019": "'", "\ufeff": None}
)

#: No number is longer; patterns are not tried on hostile cells.
LONGEST = 60

TEXT, MISMATCH, GROUPED, FORMULA = "text_in_number", "unit_mismatch", "grouped_number", "formula"
BARE, FILL = "bare_number", "fill_value"
_GROUPED = re.compile(r"[1-9]\d{0,2}\.\d{3}")


@dataclass(frozen=True, slots=True)
class Cell:
    """``value`` nan = no value; ``flag`` bits of Flag; ``code`` of the problem, "" = none."""

    value: float
    flag: int = 0
    code: str = ""


def is_grouped(text: str) -> bool:
    """Whether a point stands where one between thousands would."""
    return _GROUPED.fullmatch(text.strip()) is not None


def is_formula(text: str) -> bool:
    """Whether a cell holds a formula in place of its result."""
    text = text.strip()
    return len(text) > 1 and text[0] == "=" and not text.startswith(("==", "=<", "=>"))


EMPTY = Cell(math.nan)
NO_VALUE = Cell(math.nan, int(Flag.SENSOR_ERROR))


class CellReader:
    """Reads value cells of one file.

    ``decimal`` is "." or ","; ``thousands`` one character or ""; ``missing`` the codes that mean "no value": words in
    any case, numbers by value.
    """

    def __init__(self, decimal: str, thousands: str, missing: tuple[str, ...]) -> None:
        self.decimal, self.thousands = decimal, thousands
        self.number = re.compile(number_pattern(decimal, thousands))
        self.missing_words = frozenset(code.casefold() for code in missing)
        self.missing_numbers = frozenset(v for v in (self._float(code) for code in missing) if v is not None)

    def read(self, text: str, unit: str | None = None, parameter: str | None = None) -> Cell:
        """``unit`` is the column's: a cell that names another one is a problem, not a value."""
        text = _without_uncertainty(text.translate(_BLANKS).strip())
        if not text:
            return EMPTY
        if is_formula(text):
            return Cell(math.nan, 0, FORMULA)
        if len(text) > LONGEST:
            return Cell(math.nan, 0, TEXT)
        match = self.number.fullmatch(text)
        if match is None:
            return self._word(text.casefold())
        if match["unit"] and not _same_unit(match["unit"], unit, parameter):
            return Cell(math.nan, 0, MISMATCH if read_unit(match["unit"], parameter) else TEXT)
        value = float(plain(match["number"], self.decimal, self.thousands))
        return self._judge(value, match["sign"] or "")

    def is_bare(self, text: str) -> bool:
        """Whether a cell is a number without a unit behind it."""
        match = self.number.fullmatch(_without_uncertainty(text.translate(_BLANKS).strip()[: LONGEST + 1]))
        return match is not None and not match["unit"]

    def _judge(self, value: float, sign: str) -> Cell:
        if math.isinf(value):
            return Cell(math.nan, 0, TEXT)
        if sign:
            return Cell(value, sign_flag(sign))
        return NO_VALUE if value in self.missing_numbers else Cell(value)

    def _word(self, word: str) -> Cell:
        if word in self.missing_words or _RULES_ONLY.fullmatch(word):
            return NO_VALUE
        if word in OVER_WORDS:
            return Cell(math.nan, int(Flag.OVER_RANGE))
        if word in BELOW_WORDS:
            return Cell(math.nan, int(Flag.BELOW_DETECTION))
        return Cell(math.nan, 0, TEXT)

    @staticmethod
    def _float(code: str) -> float | None:
        try:
            value = float(code)
        except ValueError:
            return None
        return value if math.isfinite(value) else None


#: "0.030 ± 0.002", with a unit behind both or none; a percentage of the value is none.
_UNCERTAIN = re.compile(
    r"(?P<value>[^±]*[^±\s])\s*(?:±|\+/-)\s*\d[\d.,]*\s*(?:%|(?P<unit>[^\s\d.,±<>-][^<>;±]{0,15}))?"
)


def _without_uncertainty(text: str) -> str:
    """The value of ``text``, and the unit."""
    if "±" not in text and "+/-" not in text:
        return text
    match = _UNCERTAIN.fullmatch(text[: LONGEST + 1])
    return text if match is None else f"{match['value']} {match['unit'] or ''}".strip()


def sign_flag(sign: str) -> int:
    """What "<" and ">" before a value say of it, and words for them; nothing else says anything."""
    text = sign.strip()
    if text.casefold() in BELOW_WORDS or (text[:1] and text[:1] in "<≤"):
        return int(Flag.BELOW_DETECTION)
    return int(Flag.OVER_RANGE) if text.casefold() in OVER_WORDS or (text[:1] and text[:1] in ">≥") else 0


def plain(number: str, decimal: str, thousands: str) -> str:
    """``number`` as Python's float() reads it."""
    if thousands:
        number = number.replace(thousands, "")
    return number.replace(decimal, ".")


def number_pattern(decimal: str, thousands: str) -> str:
    """A pattern with the groups sign, number and unit."""
    point, grouped = re.escape(decimal), ""
    if thousands:
        grouped = rf"[1-9][0-9]{{0,2}}(?:{re.escape(thousands)}[0-9]{{3}})+(?:{point}[0-9]*)?|"
    plain_number = rf"[0-9]+(?:{point}[0-9]*)?|{point}[0-9]+"
    number = rf"(?P<number>[+-]?(?:{grouped}{plain_number})(?:[eE][+-]?[0-9]{{1,3}})?)"
    return rf"(?P<sign>[<>≤≥]=?)?\s*{number}\s*(?P<unit>[^\s\d,;.+<>-][^<>;]{{0,15}})?"


def _same_unit(text: str, unit: str | None, parameter: str | None) -> bool:
    named = read_unit(text, parameter)
    return named is not None and unit in (None, named)
