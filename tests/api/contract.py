"""What every list of the API promises. A test class per endpoint says where it is and how one row is made."""

from __future__ import annotations

import uuid
from itertools import product
from typing import Any, ClassVar

import pytest
from django.urls import resolve

from campaigns.models import Record, Site, TokenScope
from tests.api.program import ROOT, Program, counted, token_for


class Endpoint:
    path: ClassVar[str]
    scope: ClassVar[TokenScope]

    def make(self, site: Site) -> Record:
        """One more row of this endpoint on ``site``."""
        raise NotImplementedError

    @pytest.fixture
    def row(self, site: Site) -> Record:
        return self.make(site)

    def detail(self, row: Record) -> str:
        return f"{self.path}{row.key}/"

    def filters(self) -> Any:
        return resolve(ROOT + self.path).func.cls.filters  # type: ignore[attr-defined]

    # --- who sees what ---

    def test_its_organisation_reads_it(self, row: Record, program: Program) -> None:
        (listed,) = program.rows(self.path)
        assert listed["key"] == str(row.key)
        assert program.body(self.detail(row)) == listed

    def test_the_scope_is_enough(self, row: Record, site: Site) -> None:
        program = Program(token_for(site.organisation, [self.scope])[1])
        assert program.keys(self.path) == {str(row.key)}

    def test_a_token_that_lacks_the_scope_is_told_so(self, row: Record, site: Site) -> None:
        program = Program(token_for(site.organisation, set(TokenScope) - {self.scope})[1])
        for path in (self.path, self.detail(row)):
            response = program.ask(path)
            assert response.status_code == 403
            assert f"“{self.scope.value}”" in response.json()["detail"]

    def test_others_are_not_told_that_it_exists(self, row: Record, other_program: Program) -> None:
        assert other_program.rows(self.path) == []
        theirs, nothing = (other_program.ask(f"{self.path}{key}/") for key in (row.key, uuid.uuid4()))
        assert theirs.status_code == nothing.status_code == 404
        assert theirs.content == nothing.content

    def test_no_token_no_answer(self, row: Record, anonymous: Program, expired: Program) -> None:
        for nobody in (anonymous, expired, Program("fl_wrong")):
            for path in (self.path, self.detail(row)):
                response = nobody.ask(path)
                assert response.status_code == 401
                assert response.headers["WWW-Authenticate"].startswith("Bearer ")

    # --- what may be asked ---

    def test_nothing_can_be_written(self, row: Record, program: Program) -> None:
        for method, path in product(("post", "put", "patch", "delete", "options"), (self.path, self.detail(row))):
            response = getattr(program.client, method)(ROOT + path, {"name": "x"}, content_type="application/json")
            assert response.status_code == 405
        assert program.keys(self.path) == {str(row.key)}

    def test_unknown_parameters_are_named(self, row: Record, program: Program) -> None:
        for path in (self.path, self.detail(row)):
            response = program.ask(path, shelf="3", colour="red")
            assert response.status_code == 400
            assert set(response.json()) == {"shelf", "colour"}

    def test_what_is_no_key_is_not_there(self, program: Program) -> None:
        for key in ("1", "no-key", "{6f1c2a9e-0d57-4f3e-8a34-5b1d9c0e7f21}", "%00"):
            assert program.ask(f"{self.path}{key}/").status_code == 404

    def test_every_filter_reads_its_value(self, row: Record, program: Program) -> None:
        for name in self.filters():
            response = program.ask(self.path, **{name: "neither key nor word nor time"})
            assert response.status_code == 400
            assert set(response.json()) == {name}

    def test_keys_of_nothing_leave_nothing(self, row: Record, program: Program) -> None:
        for name, declared in self.filters().items():
            if declared.schema.get("format") == "uuid":
                assert program.rows(self.path, **{name: str(uuid.uuid4())}) == []

    # --- many rows ---

    def test_the_number_of_queries_does_not_grow(self, row: Record, site: Site, program: Program) -> None:
        program.rows(self.path)  # notes the use of the token, once a minute
        few = self.queries(program)
        for _ in range(4):
            self.make(site)
        assert len(program.rows(self.path)) == 5
        assert self.queries(program) == few <= 4

    def queries(self, program: Program) -> int:
        with counted() as seen:
            program.rows(self.path)
        return len(seen)

    def test_pages_meet_every_row_once_while_rows_are_added(self, row: Record, site: Site, program: Program) -> None:
        there = {str(row.key), *(str(self.make(site).key) for _ in range(4))}
        page = program.body(self.path, page_size=2)
        assert page["previous"] is None
        met = [r["key"] for r in page["results"]]
        while page["next"]:
            self.make(site)
            page = program.follow(page["next"])
            met += [r["key"] for r in page["results"]]
        assert len(met) == len(set(met))
        assert set(met) >= there

    def test_previous_leads_back(self, row: Record, site: Site, program: Program) -> None:
        for _ in range(4):
            self.make(site)
        first = program.body(self.path, page_size=2)
        second = program.follow(first["next"])
        third = program.follow(second["next"])
        assert third["next"] is None
        assert program.follow(third["previous"])["results"] == second["results"]
        assert program.follow(second["previous"])["results"] == first["results"]
