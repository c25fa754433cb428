"""Readings as JSON: what a row says, which rows are answered to whom, and pages."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from campaigns.models import Calibration, Channel, Deployment, Site, TokenScope
from methods.quantities.flags import Flag
from readings.api.walk import WalkPosition
from readings.models import Upload
from readings.queries.rows import Reach
from readings.queries.rows import rows_of as stored_rows
from tests import factories as make
from tests.api.making import channel_of, deployment_on, store, upload_to
from tests.api.program import Program, counted, token_for
from tests.database import unguarded
from tests.factories import START
from tests.worlds import World

WALL = datetime(2026, 9, 15, 9, 30)  # noqa: DTZ001 - on the logger's clock, which has no zone
PATH = "readings/"


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> Deployment:
    """From 08:00 to 10:00 UTC, which is 09:00 to 11:00 on clocks in Lisbon in September."""
    return deployment_on(world.site)


@pytest.fixture
def deployment(own_world: World) -> Deployment:
    found: Deployment = own_world.built
    return found


@pytest.fixture
def upload(deployment: Deployment) -> Upload:
    """Twelve readings, ten seconds apart, from 09:30 on the logger's clock."""
    return store(deployment, [0.03 + k / 1000 for k in range(12)], first=WALL)


def all_rows(program: Program, size: int, **params: Any) -> list[Any]:
    """Every row, page by page."""
    page = program.body(PATH, page_size=size, **params)
    rows: list[Any] = page["results"]
    while page["next"]:
        page = program.follow(page["next"])
        assert page["results"], "a page that is linked has rows"
        rows += page["results"]
    return rows


class TestARow:
    def test_what_it_says(self, deployment: Deployment, upload: Upload, program: Program) -> None:
        rows = program.rows(PATH, campaign=deployment.campaign.key)
        assert len(rows) == 12
        assert rows[2] == {
            "utc": "2026-09-15T08:30:20.000Z",
            "campaign": str(deployment.campaign.key),
            "deployment": str(deployment.key),
            "point": str(deployment.point.key),
            "instrument": str(deployment.instrument.key),
            "instrument_name": deployment.instrument.name,
            "parameter": "formaldehyde",
            "unit": "ppm",
            "probe": "",
            "raw": 0.032,
            "value": 0.032,
            "flags": Flag.FIELD_CHECK_MISSING | Flag.CALIBRATION_OVERDUE | Flag.WARMING_UP | Flag.SETTLING,
            "flag_words": [
                "warming up",
                "settling after a move or switching on",
                "calibration overdue",
                "no field check",
            ],
            "stamp": "2026-09-15 09:30:20",
            "nth": 0,
            "upload": str(upload.key),
            "line": 4,
        }

    def test_the_time_follows_the_tz_database(self, deployment: Deployment, upload: Upload, program: Program) -> None:
        """IANA tz database, Europe/Lisbon."""
        for row in program.rows(PATH, campaign=deployment.campaign.key):
            wall = datetime.fromisoformat(row["stamp"]).replace(tzinfo=ZoneInfo("Europe/Lisbon"))
            assert datetime.fromisoformat(row["utc"]) == wall.astimezone(UTC)

    def test_the_value_is_corrected(self, deployment: Deployment, upload: Upload, program: Program) -> None:
        """A calibration line is slope times shown plus intercept, as a certificate states it.

        Method: docs/methods/correction.md.
        """
        day = date(2026, 9, 1)
        Calibration.objects.create(
            channel=channel_of(deployment), date=day, due=day + timedelta(days=365), slope=1.25, intercept=0.002
        )
        for row in program.rows(PATH, campaign=deployment.campaign.key):
            assert row["value"] == pytest.approx(1.25 * row["raw"] + 0.002, rel=1e-12)
            assert not row["flags"] & Flag.CALIBRATION_OVERDUE

    def test_an_error_code_has_no_value(self, deployment: Deployment, program: Program) -> None:
        store(deployment, [float("nan"), 0.0], first=WALL, flags=[Flag.SENSOR_ERROR, Flag.BELOW_DETECTION])
        error, below = program.rows(PATH, campaign=deployment.campaign.key)
        assert (error["raw"], error["value"]) == (None, None)
        assert "the logger stored an error or no value" in error["flag_words"]
        assert below["raw"] == 0
        assert "below the detection limit" in below["flag_words"]

    def test_milliseconds(self, deployment: Deployment, program: Program) -> None:
        store(deployment, [0.1, 0.2, 0.3], first=WALL, every_s=0.25)
        rows = program.rows(PATH, campaign=deployment.campaign.key)
        assert [row["utc"][-7:] for row in rows] == ["00.000Z", "00.250Z", "00.500Z"]
        assert [row["stamp"][-6:] for row in rows] == [":30:00", "00.250", "00.500"]


class TestWhoSeesThem:
    def test_the_scope_is_enough(self, deployment: Deployment, upload: Upload, site: Site) -> None:
        program = Program(token_for(site.organisation, [TokenScope.READINGS])[1])
        assert len(program.rows(PATH, campaign=deployment.campaign.key)) == 12
        assert len(program.rows(PATH, campaign=deployment.campaign.key, room=deployment.point.room.key)) == 12  # type: ignore[union-attr]

    def test_a_token_that_lacks_the_scope_is_told_so(self, deployment: Deployment, upload: Upload, site: Site) -> None:
        program = Program(token_for(site.organisation, set(TokenScope) - {TokenScope.READINGS})[1])
        response = program.ask(PATH, campaign=deployment.campaign.key)
        assert response.status_code == 403
        assert "“readings”" in response.json()["detail"]

    @pytest.mark.parametrize("form", ["json", "csv"])
    def test_others_are_not_told_that_it_exists(
        self, deployment: Deployment, upload: Upload, other_program: Program, form: str
    ) -> None:
        theirs, nothing = (
            other_program.ask(PATH, campaign=key, format=form) for key in (deployment.campaign.key, uuid.uuid4())
        )
        assert theirs.status_code == nothing.status_code == 404
        assert theirs.content == nothing.content

    @pytest.mark.parametrize("form", ["json", "csv"])
    def test_no_token_no_answer(
        self, deployment: Deployment, upload: Upload, anonymous: Program, expired: Program, form: str
    ) -> None:
        for nobody in (anonymous, expired):
            response = nobody.ask(PATH, campaign=deployment.campaign.key, format=form)
            assert response.status_code == 401
            assert response.headers["WWW-Authenticate"].startswith("Bearer ")
            assert response.headers["Content-Type"] == "application/json"

    def test_an_instrument_of_others_is_not_read(self, deployment: Deployment, program: Program) -> None:
        """Forms refuse such a deployment. Should one come to be, it shows nothing."""
        foreign = make.InstrumentFactory.create()
        with unguarded("campaigns_deployment", "readings_envelope"):
            stray = make.DeploymentFactory.create(
                campaign=deployment.campaign, point=deployment.point, instrument=foreign
            )
            store(stray, [0.1, 0.2], first=WALL, upload=upload_to(deployment.campaign))
        assert program.rows(PATH, campaign=deployment.campaign.key) == []

    def test_nothing_can_be_written(self, deployment: Deployment, program: Program) -> None:
        for method in ("post", "put", "patch", "delete", "options"):
            response = getattr(program.client, method)(f"/api/v1/{PATH}?campaign={deployment.campaign.key}")
            assert response.status_code == 405


class TestWhatMayBeAsked:
    def test_the_campaign_is_needed(self, program: Program) -> None:
        response = program.ask(PATH)
        assert response.status_code == 400
        assert set(response.json()) == {"campaign"}

    @pytest.mark.parametrize(
        ("name", "text"),
        [
            ("campaign", "no-key"),
            ("point", "1"),
            ("instrument", "%"),
            ("parameter", "gold"),
            ("from", "today"),
            ("to", "2026-09-15"),
            ("page_size", "1001"),
            ("cursor", "nonsense"),
            ("cursor", "YXxifGN8ZHxl"),  # a|b|c|d|e
            ("format", "xml"),
            ("shelf", "3"),
        ],
    )
    def test_what_cannot_be_read_is_named(self, deployment: Deployment, program: Program, name: str, text: str) -> None:
        response = program.ask(PATH, **{"campaign": deployment.campaign.key, name: text})
        assert response.status_code == 400
        assert set(response.json()) == {name}

    def test_to_follows_from(self, deployment: Deployment, program: Program) -> None:
        same = "2026-09-15T08:00:00Z"
        response = program.ask(PATH, campaign=deployment.campaign.key, **{"from": same, "to": same})
        assert response.status_code == 400
        assert set(response.json()) == {"to"}


class TestFilters:
    @pytest.fixture
    def two(self, deployment: Deployment, upload: Upload) -> Deployment:
        """A second instrument in another room of the same campaign, with a temperature channel."""
        other = deployment_on(deployment.campaign.site, campaign=deployment.campaign)
        make.ChannelSpecFactory.create(
            instrument_type=other.instrument.type, parameter="temperature", unit="°C", range_low=-20, range_high=60
        )
        store(other, [0.05] * 3, first=WALL)
        store(other, [21.5] * 3, first=WALL, channel=channel_of(other, "temperature"))
        return other

    def counts(self, program: Program, first: Deployment, /, **params: Any) -> dict[tuple[str, str], int]:
        names = {str(first.key): "first"}
        found: dict[tuple[str, str], int] = {}
        for row in program.rows(PATH, campaign=first.campaign.key, **params):
            what = (names.get(row["deployment"], "second"), row["parameter"])
            found[what] = found.get(what, 0) + 1
        return found

    def test_all(self, deployment: Deployment, two: Deployment, program: Program) -> None:
        assert self.counts(program, deployment) == {
            ("first", "formaldehyde"): 12, ("second", "formaldehyde"): 3, ("second", "temperature"): 3,
        }  # fmt: skip

    def test_by_place_and_instrument(self, deployment: Deployment, two: Deployment, program: Program) -> None:
        assert two.point.room is not None
        second = {("second", "formaldehyde"): 3, ("second", "temperature"): 3}
        keys = {
            "deployment": two.key, "point": two.point.key, "room": two.point.room.key, "zone": two.point.room.zone.key,
            "instrument": two.instrument.key,
        }  # fmt: skip
        for name, key in keys.items():
            assert self.counts(program, deployment, **{name: key}) == second
            assert self.counts(program, deployment, **{name: uuid.uuid4()}) == {}

    def test_by_parameter(self, deployment: Deployment, two: Deployment, program: Program) -> None:
        assert self.counts(program, deployment, parameter="temperature") == {("second", "temperature"): 3}
        assert self.counts(program, deployment, parameter="radon") == {}

    def test_by_time_start_included_end_not(self, deployment: Deployment, upload: Upload, program: Program) -> None:
        span = {"from": "2026-09-15T08:30:10Z", "to": "2026-09-15T10:30:30+02:00"}
        rows = program.rows(PATH, campaign=deployment.campaign.key, **span)
        assert [row["utc"] for row in rows] == ["2026-09-15T08:30:10.000Z", "2026-09-15T08:30:20.000Z"]

    def test_a_narrowed_answer_says_the_same_of_each_reading(
        self, deployment: Deployment, upload: Upload, program: Program
    ) -> None:
        """Flags depend on what the instrument did before; asking for less must not change them."""
        later = make.DeploymentFactory.create(
            campaign=deployment.campaign, instrument=deployment.instrument, point=deployment.point,
            starts_at=START + timedelta(hours=3), ends_at=START + timedelta(hours=4),
        )  # fmt: skip
        store(later, [0.04] * 90, first=WALL + timedelta(hours=2, minutes=45), every_s=60)
        whole = program.rows(PATH, campaign=deployment.campaign.key, page_size=1000)
        of_later = [row for row in whole if row["deployment"] == str(later.key)]
        assert 0 < len(of_later) < len(whole)
        assert program.rows(PATH, campaign=later.campaign.key, deployment=later.key, page_size=1000) == of_later
        tail = program.rows(PATH, campaign=later.campaign.key, **{"from": of_later[-3]["utc"]})
        assert tail == of_later[-3:]


class TestPagesOfReadings:
    @pytest.fixture
    def campaign_key(self, site: Site, deployment: Deployment, upload: Upload) -> Any:
        """Three instruments with one, two and one channel; 12 + 5 + 5 + 7 readings."""
        second = deployment_on(site, campaign=deployment.campaign)
        make.ChannelSpecFactory.create(instrument_type=second.instrument.type, parameter="co2", range_high=5000)
        store(second, [0.05] * 5, first=WALL)
        store(second, [800.0] * 5, first=WALL, channel=channel_of(second, "co2"))
        third = deployment_on(site, campaign=deployment.campaign)
        store(third, [0.07] * 7, first=WALL)
        deployment_on(site, campaign=deployment.campaign)  # nothing came of this one
        return deployment.campaign.key

    @pytest.mark.parametrize("size", [1, 2, 5, 12, 28, 29, 30])
    def test_meet_every_row_once(self, campaign_key: Any, program: Program, size: int) -> None:
        rows = all_rows(program, size, campaign=campaign_key)
        assert rows == program.rows(PATH, campaign=campaign_key, page_size=1000)
        places = [(row["instrument"], row["parameter"], row["stamp"], row["nth"]) for row in rows]
        assert len(places) == 29
        assert places == sorted(set(places))

    def test_while_rows_are_added(self, campaign_key: Any, deployment: Deployment, program: Program) -> None:
        before = {(r["upload"], r["line"], r["parameter"]) for r in all_rows(program, 1000, campaign=campaign_key)}
        page = program.body(PATH, campaign=campaign_key, page_size=4)
        met = page["results"]
        for k in range(100):
            if not page["next"]:
                break
            store(deployment, [0.09], first=WALL + timedelta(minutes=(-1) ** k * k, seconds=5))
            page = program.follow(page["next"])
            met += page["results"]
        seen = [(r["upload"], r["line"], r["parameter"]) for r in met]
        assert page["next"] is None
        assert len(seen) == len(set(seen))
        assert set(seen) >= before

    def test_while_a_clock_is_corrected(self, campaign_key: Any, deployment: Deployment, program: Program) -> None:
        """The times of all readings move; none is met twice and none is missed."""
        first = program.body(PATH, campaign=campaign_key, page_size=15)
        for instrument in {d.instrument for d in deployment.campaign.deployments.select_related("instrument")}:
            instrument.clock_checks.create(at=START, shown_ms=1_789_462_800_000 + 600_000)
        second = program.follow(first["next"])
        assert second["next"] is None
        rows = first["results"] + second["results"]
        assert len({(row["upload"], row["line"], row["parameter"]) for row in rows}) == len(rows) == 29
        moved = second["results"][-1]
        shift = datetime.fromisoformat(moved["utc"]) - datetime.fromisoformat(moved["stamp"] + "+01:00")
        assert shift == timedelta(minutes=-10)

    def test_a_repeated_stamp(self, deployment: Deployment, program: Program) -> None:
        """A logger that prints whole minutes stores several points in one minute: nth tells them apart."""
        store(deployment, [0.01, 0.02, 0.03, 0.04], first=WALL, every_s=0)
        rows = all_rows(program, 1, campaign=deployment.campaign.key)
        assert [(row["nth"], row["raw"]) for row in rows] == [(0, 0.01), (1, 0.02), (2, 0.03), (3, 0.04)]
        assert {row["stamp"] for row in rows} == {"2026-09-15 09:30:00"}

    def test_the_number_of_queries_does_not_grow(
        self, campaign_key: Any, deployment: Deployment, program: Program
    ) -> None:
        program.rows(PATH, campaign=campaign_key)
        few = self.queries(program, campaign_key)
        store(deployment, [0.05] * 300, first=WALL + timedelta(minutes=10))
        assert len(program.rows(PATH, campaign=campaign_key, page_size=1000)) == 329
        assert self.queries(program, campaign_key) == few

    def queries(self, program: Program, key: Any) -> int:
        with counted() as seen:
            program.rows(PATH, campaign=key, page_size=1000)
        return len(seen)

    def test_a_page_does_not_read_what_was_passed(
        self, campaign_key: Any, program: Program, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The last page costs no more than the first: what lies before the cursor's channel is not read again."""
        rows = program.rows(PATH, campaign=campaign_key, page_size=1000)
        page = program.body(PATH, campaign=campaign_key, page_size=len(rows) - 1)
        read: list[int] = []

        def noted(reaches: Sequence[Reach]) -> Any:
            read.extend(channel_id for channel_id, _, _ in reaches)
            return stored_rows(reaches)

        monkeypatch.setattr("readings.queries.placed.rows_of", noted)
        assert program.follow(page["next"])["results"] == rows[-1:]
        pairs = [(str(c.instrument.key), c.spec.parameter) for c in Channel.objects.filter(pk__in=read)]
        last = (rows[-1]["instrument"], rows[-1]["parameter"])
        assert last in pairs
        assert not set(pairs) & {(row["instrument"], row["parameter"]) for row in rows} - {last}

    def test_a_cursor_tells_no_numbers_of_the_database(self, campaign_key: Any, program: Program) -> None:
        link = program.body(PATH, campaign=campaign_key, page_size=1)["next"]
        place = WalkPosition.from_text(link.split("cursor=")[1].split("&")[0].replace("%3D", "="))
        assert uuid.UUID(place.instrument)
        assert uuid.UUID(place.spec)
        assert place.parameter in {"formaldehyde", "co2"}
