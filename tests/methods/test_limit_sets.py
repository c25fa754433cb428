"""Sets of limits: every member is there, in force, and about what its set is about."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from methods.limits.errors import LimitDataError
from methods.limits.model import PopulationScope, Status
from methods.limits.sets import DATA, read, sets


def test_every_set_holds_limits_in_force_of_its_kind() -> None:
    assert {one.kind for one in sets().values()} >= {
        PopulationScope.DWELLING,
        PopulationScope.CERTIFICATION,
        PopulationScope.WORKPLACE,
    }
    for one in sets().values():
        assert one.title
        assert one.document
        for limit in one.members:
            assert limit.status is Status.IN_FORCE
            assert one.kind in limit.scopes
    found = sets()["osha-hcho"]
    day = date(2026, 11, 30)
    codes = [limit.code for limit in found.of({"formaldehyde"}, day)]
    assert codes == ["HCHO-OSHA-TWA", "HCHO-OSHA-STEL", "HCHO-OSHA-AL"]
    assert found.of({"co2"}, day) == ()


def test_a_set_gives_what_is_in_force_on_the_day() -> None:
    work = sets()["eu-work"]
    before, after = (work.of((), date(2026, 4, day)) for day in (4, 5))
    assert {limit.code for limit in after} - {limit.code for limit in before} == {"BZ-OEL-EU"}
    assert after == work.members


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (("HCHO-WHO10-30M", "HCHO-WHO10-31M"), "members"),
        (("HCHO-NIOSH-TWA", "HCHO-WHO10-30M"), "members"),  # about the public, in a set for workers
        (("HCHO-HC-1H", "HCHO-HC-8H"), "members"),  # twice
        (('kind = "dwelling"', 'kind = "castle"'), "kind"),
        (('code = "hc-residential"', 'code = "who-indoor"'), "code"),
        (('title = "NIOSH', 'name = "NIOSH'), "name"),
    ],
)
def test_a_wrong_set_stops_the_program(tmp_path: Path, change: tuple[str, str], field: str) -> None:
    path = tmp_path / "sets.toml"
    path.write_text(DATA.read_text(encoding="utf-8").replace(*change, 1), encoding="utf-8")
    with pytest.raises(LimitDataError) as refused:
        read(path)
    assert refused.value.field == field
