"""One line of text into cells, for every reader of lines; and a block of lines into a grid, where that can be done."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import lru_cache

from methods.logs.text.block import (
    Block,
    Grid,
    blanks_grid,
    delimited_grid,
    make_block,
    spans_grid,
    without_foreign,
    without_loose_quotes,
)
from methods.logs.text.encodings import LOWEST_SECOND, TWO_BYTES
from methods.logs.types import Layout

Split = Callable[[str], list[str]]


class Uncuttable(ValueError):
    """The line has no cells; ``code`` names the problem, ``said`` what in the line it is, where that is not all."""

    def __init__(self, code: str, said: str = "") -> None:
        super().__init__(code)
        self.code, self.said = code, said


def splitter(layout: Layout) -> Split:
    """How one line becomes cells; what it returns raises Uncuttable."""
    if layout.reader == "jsonl":
        keys = json_keys(layout)
        return lambda text: json_cells(text, keys)
    if layout.reader == "fixed":
        spans = layout.spans
        return lambda text: [text[start:end].strip() for start, end in spans if start < len(text) or not text]
    delimiter = layout.delimiter
    return lambda text: split_line(text, delimiter)


def json_keys(layout: Layout) -> list[str]:
    """One for each column of the file; in a long layout several columns of the layout share one."""
    keys = {column.index: column.key or column.name for column in layout.columns}
    return [keys[index] for index in sorted(keys)]


def split_line(text: str, delimiter: str) -> list[str]:
    """A blank as ``delimiter`` stands for any run of blanks and tabs.

    Of a line that is quoted as a whole, delimiters and all, these are the cells inside the quotation marks.
    """
    if delimiter == " ":
        words = _BLANKS.split(_unwrapped(text.strip(" \t\r")))
        return [w[1:-1] if len(w) >= 2 and w[0] == w[-1] == '"' else w for w in words]
    if '"' not in text:
        return text.split(delimiter)
    cells = _split_quoted(text, delimiter)
    if len(cells) == 1 and delimiter in cells[0]:
        return _split_quoted(cells[0], delimiter)
    return cells


def _unwrapped(text: str) -> str:
    """Without the quotation marks around a whole line of words."""
    return text[1:-1].strip(" \t") if len(text) > 1 and text[0] == text[-1] == '"' and text.count('"') == 2 else text


def _split_quoted(text: str, delimiter: str) -> list[str]:
    cells, at = [], 0
    pattern = _cell(delimiter)
    while match := pattern.match(text, at):
        quoted, bare = match["quoted"], match["bare"]
        if bare is not None and bare.lstrip(" \t").startswith('"') and bare.count('"') % 2:
            raise Uncuttable("bad_quotes")
        cells.append(bare if quoted is None else quoted.replace('""', '"'))
        at = match.end()
        if not (match["more"] or match["on"]):
            break
    return cells


_BLANKS = re.compile(r"[ \t\r]+")


@lru_cache(maxsize=8)
def _cell(delimiter: str) -> re.Pattern[str]:
    mark = re.escape(delimiter)
    quoted = rf'[ \t]*"(?P<quoted>(?:[^"]|"")*)"[ \t\r]*(?:(?P<more>{mark})|$)'
    return re.compile(rf"{quoted}|(?P<bare>[^{mark}]*)(?P<on>{mark})?")


def _without_doubles(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """Raises Uncuttable where a key stands twice, with unlike values."""
    made = dict(pairs)
    if (
        len(made) != len(pairs)
        and (twice := next((key for key, value in pairs if made[key] != value), None)) is not None
    ):
        raise Uncuttable(DOUBLE_KEY, twice)
    return made


DOUBLE_KEY = "double_key"
_DECODER = json.JSONDecoder(parse_float=str, parse_int=str, parse_constant=str, object_pairs_hook=_without_doubles)


def json_object(text: str) -> dict[str, str]:
    """The flat texts of one line's object: nested keys joined by points, numbers as written, null as nothing."""
    try:
        found = _DECODER.decode(text)
    except Uncuttable:
        raise
    except (ValueError, RecursionError) as error:
        raise Uncuttable("bad_line") from error
    if not isinstance(found, dict):
        raise Uncuttable("bad_line")
    flat: dict[str, str] = {}
    if all(type(value) is str for value in found.values()):
        flat = found
    else:
        _flatten(found, "", flat)
    return _of_characters(flat) if "\\u" in text else flat


#: What JSON can escape and nothing can keep or show: NUL, and halves of characters.
_NO_CHARACTER = re.compile(r"[\x00\ud800-\udfff]")


def _of_characters(flat: dict[str, str]) -> dict[str, str]:
    return {_NO_CHARACTER.sub("\ufffd", key): _NO_CHARACTER.sub("\ufffd", value) for key, value in flat.items()}


def _flatten(nested: dict[str, object], prefix: str, flat: dict[str, str]) -> None:
    for key, value in nested.items():
        if isinstance(value, dict):
            _flatten(value, f"{prefix}{key}.", flat)
            continue
        name, cell = prefix + key, value if isinstance(value, str) else "" if value is None else json.dumps(value)
        if flat.setdefault(name, cell) != cell:
            raise Uncuttable(DOUBLE_KEY, name)


def json_cells(text: str, keys: list[str]) -> list[str]:
    flat = json_object(text)
    return [flat.get(key, "") for key in keys]


def grid_of(layout: Layout, width: int, block: Block, new_keys: dict[str, int] | None = None) -> tuple[Block, Grid]:
    """The lines that can be cut without care, and the block they are in: JSON is laid out anew, line by line.

    ``new_keys`` takes the keys that the layout does not know, each with its first line.
    """
    if layout.reader == "jsonl":
        block = _laid_out(block, json_keys(layout), {} if new_keys is None else new_keys)
        return block, delimited_grid(block, APART, width)
    if layout.reader == "fixed":
        return block, spans_grid(block, layout.spans)
    cut = blanks_grid(block, width) if layout.delimiter == " " else delimited_grid(block, layout.delimiter, width)
    if layout.delimiter >= LOWEST_SECOND and layout.encoding in TWO_BYTES:
        cut = without_foreign(block, cut)
    return block, without_loose_quotes(block, cut)


APART = "\x1f"
_DELICATE = re.compile(r"[\x00-\x1e\"]")


def _laid_out(block: Block, keys: list[str], new_keys: dict[str, int]) -> Block:
    """The cells of each line between unit separators; nothing of a line that cannot be laid out so."""
    lines, known = [], frozenset(keys)
    for i in range(block.n):
        try:
            flat = json_object(block.text(i))
        except Uncuttable:
            flat = {}
        if not known.issuperset(flat):
            for key in flat.keys() - known:
                new_keys.setdefault(key, block.first_line + i)
        cells = [flat.get(key, "") for key in keys] if flat else []
        line = APART.join(cells)
        lines.append("" if _DELICATE.search(line) or line.count(APART) >= max(1, len(cells)) else line)
    return make_block("\n".join([*lines, ""]).encode("utf-8", errors="replace"), block.first_line)
