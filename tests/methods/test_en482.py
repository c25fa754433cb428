"""M-11: EN 482, expanded uncertainty (scope seen, numbers from memory): short-term 0.5 to 2 times the limit 50 %;
long-term 0.1 to under 0.5 times 50 %, 0.5 to 2 times 30 %."""

from __future__ import annotations

import pytest

from methods.uncertainty.en482 import largest_share, words


@pytest.mark.parametrize(
    ("fraction", "minutes", "share"),
    [
        (0.5, 15, 0.5), (2.0, 15, 0.5), (0.49, 15, None), (2.01, 15, None),
        (0.1, 480, 0.5), (0.499, 480, 0.5), (0.5, 480, 0.3), (2.0, 480, 0.3), (0.09, 480, None), (2.1, 480, None),
    ],
)  # fmt: skip
def test_m11_what_is_asked_for(fraction: float, minutes: int, share: float | None) -> None:
    assert largest_share(0.75 * fraction, 0.75, minutes) == share


def test_words_say_whether_it_is_met_and_that_nothing_rests_on_it() -> None:
    assert "at most 30 % of the value" in words(0.75, 0.15, 0.75, 480)
    assert "here it is 20 %, which meets it" in words(0.75, 0.15, 0.75, 480)
    assert "does not meet" in words(0.75, 0.30, 0.75, 480)
    assert "no particular" in words(0.01, 0.30, 0.75, 480)


def test_a_limit_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        largest_share(1.0, 0.0, 480)
