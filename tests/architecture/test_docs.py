"""The pages of ``docs/``: every link, anchor, name and path on them is there, and the code cites nothing else."""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PACKAGES = ("methods", "campaigns", "readings", "reports", "config", "demo", "tests")
PAGES = [ROOT / name for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md")] + sorted(DOCS.rglob("*.md"))

#: Pages whose names and paths are today's: not a record, and not one that is generated and held against code elsewhere.
OF_TODAY = [
    page
    for page in PAGES
    if page.parent.name != "decisions" and page.name not in ("CHANGELOG.md", "glossary.md", "check-values.md")
]

_LINK = re.compile(r"\]\(([^)\s]+)\)")
_CODE = re.compile(r"`([^`\n]+)`")
_FENCED = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)
_CITED = re.compile(r"\bdocs/[\w/-]+\.md(?:#[\w-]+)?")
_OF_OURS = re.compile(rf"(?:{'|'.join(PACKAGES)})(?:\.\w+)+")
_PATH = re.compile(rf"(?:(?:{'|'.join(PACKAGES)}|docs|static|templates)/[\w./-]*|\.ci/\w+)")
#: The two documents that only their authors have. In code these are no names: `METHODS[…]` is one.
_NOT_HERE = re.compile(r"\b(?:METHODS|DESIGN)\b(?!\[)")


def prose(path: Path) -> str:
    return _FENCED.sub("", path.read_text(encoding="utf-8"))


@cache
def anchors(path: Path) -> set[str]:
    """What its headings are linked by."""
    headings = re.findall(r"^#+ (.+)$", prose(path), re.MULTILINE)
    plain = (re.sub(r"[`*]|\[([^]]*)\]\([^)]*\)", r"\1", heading).lower() for heading in headings)
    return {re.sub(r"[^\w -]", "", heading).strip().replace(" ", "-") for heading in plain}


def broken(page: Path, target: str) -> str:
    """Why a link on ``page`` leads nowhere; "" where it does not."""
    if target.startswith(("http:", "https:", "mailto:")):
        return f"{target} leads out of the repository" if "127.0.0.1" not in target else ""
    path, _, anchor = target.partition("#")
    there = (page.parent / path).resolve() if path else page
    if not there.exists():
        return f"{target} is not there"
    return f"{target} has no such heading" if anchor and anchor not in anchors(there) else ""


def test_links_lead_somewhere() -> None:
    found = [
        f"{page.relative_to(ROOT)}: {why}"
        for page in PAGES
        for target in _LINK.findall(prose(page))
        if (why := broken(page, target))
    ]
    assert found == []


def test_a_broken_link_would_be_noticed() -> None:
    page = DOCS / "README.md"
    assert broken(page, "methods/README.md#the-methods") == ""
    assert broken(page, "nowhere.md") == "nowhere.md is not there"
    assert broken(page, "methods/README.md#nothing") == "methods/README.md#nothing has no such heading"


# --- names ------------------------------------------------------------------------------------------------------------


@cache
def names_of(module: str) -> set[str] | None:
    """What a module defines, imports, or holds as modules of its own; None where there is no such module."""
    path = ROOT / module.replace(".", "/")
    files = [path / "__init__.py", path.with_suffix(".py")]
    file = next((file for file in files if file.exists()), None)
    if file is None:
        return None
    names = {child.stem for child in path.iterdir() if child.suffix in ("", ".py")} if path.is_dir() else set()
    for node in ast.parse(file.read_text(encoding="utf-8")).body:
        names |= set(_named_by(node))
    return names


def _named_by(node: ast.stmt) -> Iterator[str]:
    if isinstance(node, ast.ClassDef | ast.FunctionDef):
        yield node.name
    elif isinstance(node, ast.ImportFrom):
        yield from (alias.asname or alias.name for alias in node.names)
    elif isinstance(node, ast.Assign):
        yield from (target.id for target in node.targets if isinstance(target, ast.Name))
    elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        yield node.target.id


def is_there(name: str) -> bool:
    """Whether a dotted name is a module, or something a module holds. What a class holds is taken on trust."""
    parts = name.split(".")
    for k in range(len(parts), 0, -1):
        names = names_of(".".join(parts[:k]))
        if names is not None:
            return k == len(parts) or parts[k] in names
    return False


def named_on(text: str) -> Iterator[str]:
    """Dotted names of ours; and after "In the code", bare names as those of the module named before them."""
    for paragraph in text.split("\n\n"):
        module = ""
        for name in _CODE.findall(paragraph):
            if _OF_OURS.fullmatch(name):
                module = name if names_of(name) is not None else module
                yield name
            elif "**In the code:**" in paragraph and module and name.isidentifier():
                yield f"{module}.{name}"


def test_names_on_the_pages_are_in_the_code() -> None:
    found = [
        f"{page.relative_to(ROOT)}: {name}" for page in OF_TODAY for name in named_on(prose(page)) if not is_there(name)
    ]
    assert found == []


def test_paths_on_the_pages_are_there() -> None:
    found = [
        f"{page.relative_to(ROOT)}: {path}"
        for page in OF_TODAY
        for path in _CODE.findall(prose(page))
        if _PATH.fullmatch(path) and not (ROOT / path).exists()
    ]
    assert found == []


def test_a_name_that_is_gone_would_be_noticed() -> None:
    text = "**In the code:** `methods.clock`: `ClockModel`, `Sundial`; `methods.gnomon`."
    assert [name for name in named_on(text) if not is_there(name)] == ["methods.clock.Sundial", "methods.gnomon"]


# --- what code cites --------------------------------------------------------------------------------------------------


@cache
def sources() -> dict[str, str]:
    files = [file for package in PACKAGES for kind in ("*.py", "*.toml") for file in (ROOT / package).rglob(kind)]
    return {file.relative_to(ROOT).as_posix(): file.read_text(encoding="utf-8") for file in files}


def test_pages_that_code_cites_are_there() -> None:
    cited = {(file, page) for file, text in sources().items() for page in _CITED.findall(text)}
    found = [f"{file}: {why}" for file, page in sorted(cited) if (why := broken(ROOT / "cited", page))]
    assert found == []


#: From Python 3.12 on the text between the fields of an f-string is a token of its own.
_SAID = {tokenize.COMMENT, tokenize.STRING, getattr(tokenize, "FSTRING_MIDDLE", tokenize.STRING)}


def said_in(file: str, text: str) -> Iterator[str]:
    """Comments and strings of Python source; all of a data file."""
    if not file.endswith(".py"):
        yield text
        return
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type in _SAID:
            yield token.string


def test_code_cites_no_document_that_is_not_here() -> None:
    mine = Path(__file__).relative_to(ROOT).as_posix()
    found = [
        file
        for file, text in sources().items()
        if file != mine and _NOT_HERE.search(text) and any(map(_NOT_HERE.search, said_in(file, text)))
    ]
    assert found == []


def test_a_citation_of_what_is_not_here_would_be_noticed() -> None:
    name, of = "METH" + "ODS", "DES" + "IGN"
    source = f'{name} = [Averaging.{of}]\n"""See {of}, section 9."""\nf"{{{name}[0]}}"  # {name} 5\n'
    found = [text for text in said_in("a.py", source) if _NOT_HERE.search(text)]
    assert found == [f'"""See {of}, section 9."""', f"# {name} 5"]
    assert list(said_in("a.toml", "# all of it")) == ["# all of it"]


# --- what stands in an index ------------------------------------------------------------------------------------------


def test_every_page_is_in_an_index() -> None:
    for folder in (DOCS, DOCS / "methods", DOCS / "decisions"):
        linked = set(_LINK.findall(prose(folder / "README.md")))
        there = {page.name for page in folder.glob("*.md")} - {"README.md"}
        assert there - linked == set(), folder


def test_decisions_are_dated_and_short() -> None:
    head = re.compile(r"# (\d{4})\. .+\n\n\d{4}-\d\d-\d\d · (?:in force|superseded by \[\d{4}\]\(\d{4}-[\w-]+\.md\))\n")
    for number, page in enumerate(sorted((DOCS / "decisions").glob("[0-9]*.md")), 1):
        text = page.read_text(encoding="utf-8")
        found = head.match(text)
        assert found, page.name
        assert found[1] == page.name[:4] == f"{number:04d}"
        assert all(f"**{part}.**" in text for part in ("Context", "Decision", "Consequence")), page.name
        assert len(text.splitlines()) <= 30, page.name
