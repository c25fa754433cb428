from __future__ import annotations

import pytest
from django.test import Client

from campaigns import history
from campaigns.links import route_word
from campaigns.models import Site, User
from tests.campaigns.pages import Browse, get, post, text
from tests.permissions.names import names_in


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.mark.history
def test_who_when_before_after(owner: Client, site: Site) -> None:
    post(
        owner, "site-edit", site, name="Harbour Court", time_zone="Europe/Lisbon", altitude_m="0", client=site.client_id
    )
    entry = get(owner, "site-history", site).context["entries"][0]
    assert entry["who"] == "C. Lintel"
    assert entry["what"] == "Changed"
    assert ("Name", "Harbour House", "Harbour Court") in entry["changes"]


@pytest.mark.history
def test_only_fields_of_the_row_itself_are_told(owner: Client, site: Site) -> None:
    fields = {
        field for entry in get(owner, "site-history", site).context["entries"] for field, _, _ in entry["changes"]
    }
    assert {"Name", "Time zone"} <= fields
    assert not fields & {"Buildings", "Campaigns", "Points"}


@pytest.mark.history
def test_what_is_typed_is_shown_as_text(owner: Client, site: Site) -> None:
    data = {"name": "<script>alert(1)</script>", "time_zone": "Europe/Lisbon", "altitude_m": "0"}
    post(owner, "site-edit", site, **data)
    for route in ("site", "site-history"):
        page = text(get(owner, route, site))
        assert "<script>alert(1)" not in page
        assert "&lt;script&gt;alert(1)" in page


def test_every_kept_model_has_a_history_page_or_a_reason() -> None:
    from campaigns.urls import urlpatterns

    # An organisation is changed by the operator; a planned point is chosen or left out, never changed; an
    # answer about a clock that was set is given and changed on the clock page; a criterion is chosen, moved or left
    # out; who has seen a limit in its document is noted on the page of the limit; an acceptance limit is added anew and
    # never changed; who came into a run stands in the history of the run.
    without = {"Organisation", "PlannedPoint", "ClockReset", "Criterion", "LimitCheck", "AcceptanceLimit"}
    without |= {"RunInstrument"}
    routes = set(names_in(urlpatterns))
    missing = {m.__name__ for m in history.KEPT if f"{route_word(m)}-history" not in routes}
    assert missing == without


def test_a_test_that_is_not_marked_cannot_look_into_the_history(site: Site) -> None:
    """Nothing is recorded for it; that nothing is there must not be what it finds."""
    with pytest.raises(AssertionError, match="mark it with"):
        history.of(site)
