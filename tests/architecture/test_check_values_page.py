"""``docs/check-values.md`` holds the check values that tests and code name, no more and no fewer."""

from __future__ import annotations

from tests.architecture.check_values import PAGE, ids_in, ids_of_the_page, named_in, with_tests

CODE = ("methods", "campaigns", "readings", "reports", "config", "demo")


def test_the_page_and_the_tests_name_the_same_ids() -> None:
    ids = ids_of_the_page(PAGE.read_text(encoding="utf-8"))
    assert len(ids) == len(set(ids))
    assert set(ids) == set(named_in("tests", *CODE))


def test_each_id_has_a_test() -> None:
    """V-05 is the formula behind V-04, whose test holds both."""
    assert set(ids_of_the_page(PAGE.read_text(encoding="utf-8"))) - set(named_in("tests")) == {"V-05"}


def test_the_page_says_which_tests_use_them() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert text == with_tests(text, named_in("tests")), "run: make docs"


def test_an_id_is_found_however_it_is_written() -> None:
    text = '''def test_r07_two_hours_missing(self) -> None:
        """U-07; L-01 to L-03, not visit C-15-06 nor room B-15; certificate "C-77"."""'''
    assert ids_in(text, ["L-01", "L-03", "L-04"]) == {"R-07", "U-07", "L-01", "L-03"}


def test_the_last_column_is_written_anew() -> None:
    before = "| M-01, M-02 | a | b | c | MR | – |\n| M-03 | a | b | c | MR | `gone.py` |\n"
    after = "| M-01, M-02 | a | b | c | MR | `x.py`, `y.py` |\n| M-03 | a | b | c | MR | – |\n"
    assert with_tests(before, {"M-01": {"y.py"}, "M-02": {"x.py", "y.py"}}) == after
