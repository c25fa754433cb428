"""Scripts are ES modules that import each other, under plain names and under names that follow their content."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from django.conf import LazySettings
from django.template import Context, Template

from config.templatetags.modules import all_imports, imports_of, module_script
from tests.config.starting import ROOT, manage

SCRIPTS = ROOT / "static" / "js"
IMPORTED = re.compile(r'(?:from|import) "(\.[^"]+)";')
ENTRIES = re.compile(r'\{% module_script "([^"]+)"')


def modules() -> list[str]:
    return sorted(path.relative_to(ROOT / "static").as_posix() for path in SCRIPTS.rglob("*.js"))


def entries() -> set[str]:
    pages = (ROOT / "templates").rglob("*.html")
    return {name for page in pages for name in ENTRIES.findall(page.read_text(encoding="utf-8"))}


class TestImports:
    def test_all_of_a_script_is_found_once(self) -> None:
        found = all_imports("js/floor-plan/editor.js")
        assert len(found) == len(set(found)) > 15
        assert {"js/announce.js", "js/floor-plan/geometry.js", "js/floor-plan/fields.js"} <= set(found)
        assert "js/floor-plan/editor.js" not in found

    def test_every_import_as_the_files_have_them_is_seen(self) -> None:
        for path in modules():
            written = IMPORTED.findall((ROOT / "static" / path).read_text(encoding="utf-8"))
            assert len(imports_of(path)) == len(written), path

    def test_no_module_is_left_over_and_none_is_missing(self) -> None:
        reached = entries() | {name for entry in entries() for name in all_imports(entry)}
        assert reached == set(modules())

    def test_a_script_that_is_not_there_is_said(self) -> None:
        with pytest.raises(ValueError, match=r"no script js/nothing\.js"):
            imports_of("js/nothing.js")


class TestTag:
    def test_what_is_imported_is_fetched_at_once(self) -> None:
        page = Template('{% load modules %}{% module_script "js/upload/upload.js" %}').render(Context())
        early = re.findall(r'<link rel="modulepreload" href="([^"]+)">', page)
        assert set(early) == {f"/static/{name}" for name in all_imports("js/upload/upload.js")}
        assert page.endswith('<script type="module" src="/static/js/upload/upload.js"></script>')

    def test_data_is_told_and_escaped(self) -> None:
        assert ' data-plotly="/a&quot;b"></script>' in module_script("js/upload/upload.js", plotly='/a"b')

    def test_while_somebody_works_on_scripts_they_are_read_each_time(self, settings: LazySettings) -> None:
        kept = module_script("js/upload/upload.js")
        settings.DEBUG = True
        assert module_script("js/upload/upload.js") == kept


def test_no_script_shares_anything_through_the_window() -> None:
    """``window.Plotly`` and ``window.htmx`` are where those libraries put themselves."""
    for path in modules():
        text = (ROOT / "static" / path).read_text(encoding="utf-8")
        assert not re.search(r"\bwindow\.\w+\s*=[^=]|globalThis", text), path
        assert set(re.findall(r"\bwindow\.([A-Za-z]+)", text)) <= {"Plotly", "htmx", "addEventListener", "location"}, (
            path
        )


@pytest.fixture(scope="module")
def collected(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Static files as an image of the whole holds them."""
    var = tmp_path_factory.mktemp("var")
    done = manage(var, "collectstatic", "--noinput", FANLIGHT_MANIFEST="yes")
    assert done.returncode == 0, done.stderr
    return var / "static"


@pytest.mark.slow
def test_collected_modules_import_each_other_by_the_names_that_pages_load(collected: Path) -> None:
    names = json.loads((collected / "staticfiles.json").read_text(encoding="utf-8"))["paths"]
    for path in modules():
        stored = names[path]
        assert re.fullmatch(r".*\.[0-9a-f]{12}\.js", stored)
        text = (collected / stored).read_text(encoding="utf-8")
        targets = [((collected / stored).parent / name).resolve() for name in IMPORTED.findall(text)]
        # The same module under two names would be two modules, each with a state of its own.
        assert targets == [(collected / names[name]).resolve() for name in imports_of(path)], path
        assert (collected / f"{stored}.gz").exists()
