"""Rules about writing live in services: forms, views and the API ask a service, and write nothing by themselves."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
APPS = ("campaigns", "readings", "reports")
#: Where nothing is written: what is shown, asked and answered.
LAYERS = ("forms", "views", "api", "pages", "templatetags")
#: What writes, holds a row, or begins a transaction, on a row, a query set, a form or Django's ``transaction``.
WRITES = frozenset({
    "save", "create", "create_user", "create_superuser", "delete", "bulk_create", "bulk_update", "get_or_create",
    "update_or_create", "set_password", "select_for_update", "atomic", "set_rollback", "on_commit",
})  # fmt: skip


def sources() -> list[Path]:
    """Every module of those layers, whether it is a folder or one file."""
    found = [path for app in APPS for layer in LAYERS for path in (ROOT / app / layer).rglob("*.py")]
    return sorted(
        [*found, *(path for app in APPS for layer in LAYERS if (path := ROOT / app / f"{layer}.py").exists())]
    )


def services_in(tree: ast.AST) -> set[str]:
    """Names that stand for a service in this module: what it imports from one, or a module of services itself."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and "services" in (node.module or "").split("."):
            names |= {alias.asname or alias.name for alias in node.names}
    return names


def writing(source: str) -> Iterator[str]:
    """What a module writes by itself, by name. Calling a service's ``save`` or ``create`` is no writing of its own."""
    tree = ast.parse(source)
    services = services_in(tree)
    for node in ast.walk(tree):
        if not isinstance(node, ast.Attribute):
            continue
        on_service = isinstance(node.value, ast.Name) and node.value.id in services
        if node.attr in WRITES and not on_service:
            yield node.attr
        elif node.attr == "update" and _is_query(node.value):
            yield "update"


def _is_query(node: ast.expr) -> bool:
    """``rows.filter(…)`` or ``Model.objects``: of a dictionary, ``update`` is asked by its name."""
    return isinstance(node, ast.Call) or (isinstance(node, ast.Attribute) and node.attr == "objects")


def test_forms_views_and_api_write_nothing_by_themselves() -> None:
    """Without exception: logging in and passwords are written by Django's own views."""
    found = {(str(path.relative_to(ROOT)), what) for path in sources() for what in writing(path.read_text("utf-8"))}
    assert found == set(), "a rule about writing belongs into a service"


def imported(source: str) -> set[str]:
    """Every module that ``source`` names in an import, as a whole and with what it takes from it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def asks_upward(source: str) -> set[str]:
    """What a service imports of forms, views or the API of any app."""
    return {
        name
        for name in imported(source)
        if name.split(".")[0] in APPS and name.split(".")[1] in ("forms", "views", "api")
    }


def test_services_can_be_called_without_a_form() -> None:
    services = [path for app in APPS for path in (ROOT / app / "services").rglob("*.py")]
    assert len(services) > len(APPS)
    assert {name for path in services for name in asks_upward(path.read_text("utf-8"))} == set()
    assert asks_upward("from campaigns.forms.times import moment") == {"campaigns.forms.times.moment"}
    assert asks_upward("from campaigns import forms") == {"campaigns.forms"}


def test_every_layer_is_looked_at() -> None:
    seen = {path.relative_to(ROOT).parts[:2] for path in sources()}
    assert {(app, layer) for app in APPS for layer in ("views", "api", "pages")} <= seen
    assert {("campaigns", "forms"), ("readings", "forms"), ("reports", "forms.py")} <= seen


def test_writing_would_be_noticed() -> None:
    assert list(writing("row.save(update_fields=['name'])")) == ["save"]
    assert list(writing("Room.objects.create(name='Ash')")) == ["create"]
    assert list(writing("Room.objects.filter(pk=1).update(name='Ash')")) == ["update"]
    assert list(writing("Room.objects.update(name='Ash')")) == ["update"]
    assert sorted(writing("with transaction.atomic():\n    rows.select_for_update()")) == [
        "atomic",
        "select_for_update",
    ]
    assert list(writing("class F(Form):\n    def keep(self): return super().save()")) == ["save"]
    assert list(writing("@transaction.atomic\ndef post(): ...")) == ["atomic"]
    assert list(writing("keep = self.instance.save")) == ["save"]


def test_asking_a_service_is_no_writing() -> None:
    assert list(writing("from campaigns.services import floor_plans\nfloor_plans.save(floor, sent)")) == []
    assert list(writing("from campaigns.services.rooms import add_rooms\nadd_rooms(rooms)")) == []
    assert list(writing("from campaigns.models import floor_plans\nfloor_plans.save(floor)")) == ["save"]
    assert list(writing("context.update(told)")) == []
