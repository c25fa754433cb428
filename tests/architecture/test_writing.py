"""Rules about writing live in services: whatever else there is asks a service, and writes nothing by itself."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from django.apps import apps

ROOT = Path(__file__).resolve().parents[2]
APPS = ("campaigns", "readings", "reports")
#: Where is written: rules about writing, the stores and models they ask, what is begun from outside a page, and the
#: triggers of the database.
WRITERS = frozenset({
    "services", "store", "models", "migrations", "management", "tasks", "enqueue", "parallel", "guards",
})  # fmt: skip
#: What writes on a row, a query set or a form; each has an async twin.
ON_ROWS = frozenset({
    "save", "create", "create_user", "create_superuser", "delete", "bulk_create", "bulk_update", "get_or_create",
    "update_or_create",
})  # fmt: skip
#: What writes besides, holds a row, begins or ends a transaction, or speaks SQL.
WRITES = ON_ROWS | {f"a{name}" for name in ON_ROWS} | {
    "aupdate", "_raw_delete", "_update", "save_base", "set_password", "select_for_update", "atomic", "set_rollback",
    "on_commit", "set_autocommit", "commit", "rollback", "cursor",
}  # fmt: skip
#: What writes on the rows that point to another one, or that it points to: ``group.samples.set(…)``.
ON_RELATED = frozenset({"set", "add", "remove", "clear", "aset", "aadd", "aremove", "aclear", "update"})
#: Readings come by the million: these are read past the models.
READ_BY_SQL = {("readings/queries/rows.py", "cursor")}
#: What makes a query set.
QUERIES = frozenset({
    "filter", "exclude", "all", "none", "order_by", "select_related", "prefetch_related", "annotate", "distinct",
    "only", "defer", "visible",
})  # fmt: skip


def sources() -> list[Path]:
    """Every module of the apps but for those that write."""
    modules = [path for app in APPS for path in (ROOT / app).rglob("*.py")]
    return sorted(path for path in modules if path.relative_to(ROOT).parts[1].removesuffix(".py") not in WRITERS)


def related_names() -> frozenset[str]:
    """What rows call the managers of their relations to many."""
    models = [model._meta for model in apps.get_models()]
    reverse = [relation.get_accessor_name() for model in models for relation in model.related_objects]
    return frozenset([str(name) for name in reverse] + [field.name for model in models for field in model.many_to_many])


def services_in(tree: ast.AST) -> set[str]:
    """Names that stand for a service in this module: what it imports from one, or a module of services itself, unless
    something else goes by that name as well."""
    names: set[str] = set()
    others: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and "services" in (node.module or "").split("."):
            names |= {alias.asname or alias.name for alias in node.names}
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            others.add(node.id)
        elif isinstance(node, ast.arg):
            others.add(node.arg)
    return names - others


def queries_in(tree: ast.AST) -> set[str]:
    """What is assigned a query set somewhere in the module: ``rows``, ``self.rows``."""
    assigned = [node for node in ast.walk(tree) if isinstance(node, ast.Assign | ast.AnnAssign | ast.NamedExpr)]
    return {
        ast.unparse(target)
        for node in assigned
        if node.value is not None and makes_query(node.value)
        for target in (node.targets if isinstance(node, ast.Assign) else [node.target])
    }


def makes_query(node: ast.expr) -> bool:
    """``Model.objects`` and ``rows.filter(…)``."""
    called = node.func if isinstance(node, ast.Call) else node
    if not isinstance(called, ast.Attribute):
        return False
    return called.attr in ({"objects", "_default_manager"} if called is node else QUERIES)


def writing(source: str) -> Iterator[str]:
    """What a module writes by itself, by name. Calling a service's ``save`` or ``create`` is no writing of its own."""
    tree = ast.parse(source)
    services, queries, related = services_in(tree), queries_in(tree), related_names()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("django.db.transaction"):
            yield from (alias.name for alias in node.names)
        if not isinstance(node, ast.Attribute):
            continue
        on = node.value
        on_service = isinstance(on, ast.Name) and on.id in services
        on_related = isinstance(on, ast.Attribute) and on.attr in related
        if (node.attr in WRITES and not on_service) or (node.attr in ON_RELATED and on_related):
            yield node.attr
        elif node.attr == "update" and (isinstance(on, ast.Call) or makes_query(on) or ast.unparse(on) in queries):
            yield "update"  # of a dictionary it is asked by its name


def test_what_is_no_service_writes_nothing_by_itself() -> None:
    """Without exception: logging in and passwords are written by Django's own views."""
    found = {(str(path.relative_to(ROOT)), what) for path in sources() for what in writing(path.read_text("utf-8"))}
    assert found == READ_BY_SQL, "a rule about writing belongs into a service"


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


def test_everything_else_is_looked_at() -> None:
    seen = {path.relative_to(ROOT).parts[:2] for path in sources()}
    assert {
        (app, layer) for app in APPS for layer in ("views", "api", "pages", "permissions.py", "receivers.py")
    } <= seen
    assert {("campaigns", "forms"), ("readings", "forms"), ("reports", "forms.py"), ("readings", "queries")} <= seen
    assert ("campaigns", "navigation.py") in seen


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
    assert list(writing("await Room.objects.acreate(name='Ash')")) == ["acreate"]
    assert list(writing("rows._raw_delete('default')")) == ["_raw_delete"]
    assert list(writing("connection.cursor().execute('DELETE FROM room')")) == ["cursor"]
    assert list(writing("from django.db.transaction import atomic\nwith atomic(): ...")) == ["atomic"]


def test_writing_on_what_is_known_to_be_rows_would_be_noticed() -> None:
    assert list(writing("group.samples.set([stay])\ngroup.samples.clear()")) == ["set", "clear"]
    assert list(writing("self.found.planned_points.update(position=1)")) == ["update"]
    assert list(writing("rows = Room.objects.filter(zone=zone)\nrows.update(name='Ash')")) == ["update"]
    assert list(writing("self.rows = access.visible(person, Room)\nself.rows.update(name='Ash')")) == ["update"]
    assert list(writing("seen.add(name)\nself.seen.add(name)\nevent.set()\nself.told.update(more)")) == []


def test_a_row_under_the_name_of_a_service_would_be_noticed() -> None:
    assert list(writing("from campaigns.services import rooms as row\nrow = rows[0]\nrow.save()")) == ["save"]


def test_asking_a_service_is_no_writing() -> None:
    assert list(writing("from campaigns.services import floor_plans\nfloor_plans.save(floor, sent)")) == []
    assert list(writing("from campaigns.services.rooms import add_rooms\nadd_rooms(rooms)")) == []
    assert list(writing("from campaigns.models import floor_plans\nfloor_plans.save(floor)")) == ["save"]
    assert list(writing("context.update(told)")) == []
