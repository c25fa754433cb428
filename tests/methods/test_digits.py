"""Numbers as people read them: plain digits of every size, and nothing but the noise of fractions lost."""

from __future__ import annotations

import re
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.quantities.digits import NOTHING, as_entered, fixed, in_digits, percent
from methods.wording.numbers import plain, rounded_to, with_uncertainty

PLAIN = re.compile(r"−?\d+(\.\d+)?")
SIZES = [sign * leading * 10.0**power for sign in (1, -1) for leading in (1.0, 1.5, 9.996) for power in range(-9, 10)]


@pytest.mark.parametrize("written", [in_digits, plain, as_entered])
@pytest.mark.parametrize("value", SIZES)
def test_every_size_is_written_in_plain_digits(written: object, value: float) -> None:
    text: str = written(value)  # type: ignore[operator]
    assert PLAIN.fullmatch(text), text
    assert float(text.replace("−", "-")) == pytest.approx(value, rel=0.005)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (-6.94e-18, "0"), (5.6e-17, "0"), (0.0, "0"), (-0.0, "0"), (150.0, "150"), (0.0123109, "0.0123"),
        (12345.6, "12346"), (0.1 + 0.2, "0.3"), (0.09996, "0.1"), (-0.25, "−0.25"), (1e9, "1000000000"), (nan, "–"),
        (inf, "∞"), (-inf, "−∞"),
    ],
)  # fmt: skip
def test_known_numbers(value: float, text: str) -> None:
    assert in_digits(value) == text


def test_what_was_measured_keeps_its_zeros() -> None:
    assert [plain(value) for value in (0.1, 0.09996, 20.0, 150.0, -6.94e-18)] == ["0.100", "0.100", "20.0", "150", "0"]
    assert (percent(0.95), percent(0.123456, 3), as_entered(101.325), as_entered(None)) == (
        "95 %", "12.3 %", "101.325", "–",
    )  # fmt: skip


@given(value=st.floats(-1e9, 1e9), u=st.floats(1e-15, 1e9))
def test_a_value_with_its_uncertainty_has_no_exponent_and_no_minus_before_nothing(value: float, u: float) -> None:
    texts = (*rounded_to(value, u), fixed(value, 3), in_digits(value), in_digits(u, 2))
    for text in texts:
        assert PLAIN.fullmatch(text), text
        assert not re.fullmatch(r"−0(\.0+)?", text)
    assert "e" not in with_uncertainty(value, u, "")


@given(value=st.floats(NOTHING, 1e9), figures=st.integers(1, 6))
def test_rounding_is_to_the_figures_asked_for(value: float, figures: int) -> None:
    assert float(in_digits(value, figures)) == pytest.approx(
        value, rel=0.5 * 10.0 ** (1 - figures) * 1.001, abs=NOTHING
    )


def test_a_share_that_is_not_all_does_not_look_like_all() -> None:
    assert percent(0.99996) == "99.996 %"
    assert percent(1.00004) == "100.004 %"
    assert percent(1.0) == "100 %"
    assert percent(0.95) == "95 %"
    assert percent(1e-9) == "0.0000001 %"
