"""Scripts of a page: ES modules, fetched with all they import at once instead of one level after another."""

from __future__ import annotations

import posixpath
import re
from functools import lru_cache
from pathlib import Path

from django import template
from django.conf import settings
from django.contrib.staticfiles import finders
from django.templatetags.static import static
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

register = template.Library()

#: ``import … from "./there.js";`` and ``import "./there.js";``, as eslint and Django's storage want them written.
_IMPORT = re.compile(r"""^(?:import\s*|(?:import|export)\s[^;"']*?\sfrom\s*)["'](\.[^"']+)["'];""", re.MULTILINE)


def imports_of(path: str) -> list[str]:
    """Static paths of the modules that a module imports itself. ValueError: there is no such static file."""
    found = finders.find(path)
    if not isinstance(found, str):
        raise ValueError(f"There is no script {path}.")
    folder = posixpath.dirname(path)
    written = _IMPORT.findall(Path(found).read_text(encoding="utf-8"))
    return [posixpath.normpath(posixpath.join(folder, name)) for name in written]


def all_imports(path: str) -> list[str]:
    """All that is fetched for a module besides itself, each once, the nearest first."""
    wanted, waiting = {path: None}, [path]
    while waiting:
        for name in imports_of(waiting.pop(0)):
            if name not in wanted:
                wanted[name] = None
                waiting.append(name)
    return list(wanted)[1:]


_kept = lru_cache(maxsize=None)(all_imports)  # files change only while somebody works on them


@register.simple_tag
def module_script(path: str, **data: str) -> SafeString:
    """The script at a static path as a module. It runs when the page is read, as with ``defer``. data: its data-*."""
    imported = all_imports(path) if settings.DEBUG else _kept(path)
    early = format_html_join("", '<link rel="modulepreload" href="{}">', ((static(name),) for name in imported))
    told = format_html_join("", ' data-{}="{}"', data.items())
    return format_html('{}<script type="module" src="{}"{}></script>', early, static(path), told)
