"""Which test uses which check value: the last column of ``docs/check-values.md``.

``python -m tests.architecture.check_values`` writes it anew. An id is named in words (R-07), as a range (L-01 to
L-03), or in the name of a test (``test_r07_…``).
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "check-values.md"
#: Files that speak about ids; of the one that lists them only the names of its tests count.
ABOUT_IDS, LIST = {"check_values.py", "test_check_values_page.py"}, "test_check_values_named.py"
#: What looks like an id and is something else: the number of a certificate, of an equation in a manual, of a trap in
#: the guidelines (T11), and a response time (T90).
OTHERS = {"C-77", "L-27", "T-11", "T-90"}
#: The series of the page; a letter alone tells rooms and visits of the demo (A-15-06) apart.
SERIES = "CFKLMNPQRTUVWZ"

_ID = re.compile(rf"(?<![\w-])([{SERIES}])-(\d\d)(?![\w-])")
_RANGE = re.compile(rf"(?<![\w-])([{SERIES}])-(\d\d) to \1-(\d\d)(?![\w-])")
_IN_A_NAME = re.compile(rf"(?<=_)([{SERIES.lower()}])(\d\d)(?=_|\()")
_TEST_NAME = re.compile(r"def (test_\w+\()")
_ROW = re.compile(r"^\| ((?:[A-Z]-\d\d(?:, )?)+) \|.*\|$", re.MULTILINE)


def ids_in(text: str, known: Collection[str]) -> set[str]:
    """The ids that ``text`` names; of a range those that are ``known``, because series have gaps."""
    found = {f"{letter}-{number}" for letter, number in _ID.findall(text)}
    for letter, first, last in _RANGE.findall(text):
        found |= {one for one in known if one[0] == letter and first <= one[2:] <= last}
    return (found | ids_in_names(text)) - OTHERS


def ids_in_names(text: str) -> set[str]:
    """Those that the names of its tests name."""
    names = "".join(_TEST_NAME.findall(text))
    return {f"{letter.upper()}-{number}" for letter, number in _IN_A_NAME.findall(names)}


def named_in(*folders: str) -> dict[str, set[str]]:
    """Every id that a Python file below ``folders`` names, with the files' paths from there."""
    known = ids_of_the_page(PAGE.read_text(encoding="utf-8"))
    found: dict[str, set[str]] = defaultdict(set)
    for folder in folders:
        for path in sorted((ROOT / folder).rglob("*.py")):
            if path.name not in ABOUT_IDS:
                text = path.read_text(encoding="utf-8")
                for one in ids_in_names(text) if path.name == LIST else ids_in(text, known):
                    found[one].add(path.relative_to(ROOT / folder).as_posix())
    return found


def ids_of_the_page(text: str) -> list[str]:
    return [one for ids in _ROW.findall(text) for one in ids.split(", ")]


def with_tests(text: str, tests: Mapping[str, set[str]]) -> str:
    """The page with its last column written anew."""

    def row(match: re.Match[str]) -> str:
        files = sorted({f"`{path}`" for one in match[1].split(", ") for path in tests.get(one, ())})
        return f"{match[0].rsplit('|', 2)[0]}| {', '.join(files) or '–'} |"

    return _ROW.sub(row, text)


if __name__ == "__main__":
    PAGE.write_text(with_tests(PAGE.read_text(encoding="utf-8"), named_in("tests")), encoding="utf-8")
