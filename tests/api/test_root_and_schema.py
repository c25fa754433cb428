from __future__ import annotations

import json

import yaml
from django.urls import URLPattern, resolve
from drf_spectacular.drainage import GENERATOR_STATS
from drf_spectacular.generators import SchemaGenerator

from campaigns.models import Organisation
from config.api import ENDPOINTS, urlpatterns
from config.version import VERSION
from tests.api.program import ROOT, Program, document, token_for


def test_the_root_leads_to_every_list(program: Program) -> None:
    links = program.body("")
    assert links.pop("fanlight") == VERSION
    lists = {p.name for p in ENDPOINTS if isinstance(p, URLPattern) and p.name and p.name.endswith("-list")}
    found = {resolve(link.removeprefix("http://testserver")).url_name for link in links.values()}
    assert found == lists | {"api-schema"}
    for word, link in links.items():
        assert link == f"http://testserver{ROOT}{word}/"


def test_every_name_says_that_it_is_the_api() -> None:
    assert all(isinstance(p, URLPattern) and p.name and p.name.startswith("api-") for p in urlpatterns)


def test_root_and_schema_need_a_token_and_no_scope(
    anonymous: Program, expired: Program, organisation: Organisation
) -> None:
    bare = Program(token_for(organisation, [])[1])
    for path in ("", "schema/"):
        assert anonymous.ask(path).status_code == 401
        assert expired.ask(path).status_code == 401
        assert bare.ask(path).status_code == 200
        assert bare.client.post(ROOT + path).status_code == 405


def test_the_root_is_strict(program: Program) -> None:
    assert set(program.ask("", page=2).json()) == {"page"}
    assert set(program.ask("", format="xml").json()) == {"format"}


def test_the_document_is_valid_openapi() -> None:
    from openapi_spec_validator import validate

    validate(document())


def test_the_document_is_made_without_warnings() -> None:
    GENERATOR_STATS.reset()
    SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    assert not GENERATOR_STATS._warn_cache
    assert not GENERATOR_STATS._error_cache


def test_yaml_and_json_say_the_same(program: Program) -> None:
    as_yaml = yaml.safe_load(program.ask("schema/").content)
    assert json.loads(program.ask("schema/", format="json").content) == as_yaml
    assert as_yaml == json.loads(json.dumps(document()))


def test_the_document_names_every_path_and_nothing_that_writes() -> None:
    paths = document()["paths"]
    described = {path.removeprefix(ROOT) for path in paths}
    assert len(described) == len(urlpatterns) - 1  # all but the document itself
    assert {"readings/", "uploads/{key}/problems/", "findings/{key}/"} <= described
    assert {method for operations in paths.values() for method in operations} == {"get"}


def test_every_operation_needs_the_token_and_says_how_it_refuses() -> None:
    assert document()["components"]["securitySchemes"]["token"]["scheme"] == "bearer"
    for operations in document()["paths"].values():
        operation = operations["get"]
        assert operation["security"] == [{"token": []}]
        assert {"200", "400", "401", "403", "404", "429"} <= set(operation["responses"])
        assert operation["description"]
