"""Rows as text: what goes out comes back, and says the same on both databases."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
from django.db import connection, models

from config.keeping.rows import readers, same_everywhere, text_of, values_in


@pytest.mark.parametrize(
    ("field", "value"),
    [
        (models.DateTimeField(), datetime(2026, 3, 29, 1, 30, 0, 123456, tzinfo=UTC)),
        (models.DateField(), date(2026, 2, 28)),
        (models.DurationField(), timedelta(days=-1, microseconds=5)),
        (models.UUIDField(), UUID("00000000-0000-4000-8000-00000000000f")),
        (models.BinaryField(), b"\x00\xff\n"),
    ],
)
def test_what_goes_out_comes_back(field: models.Field[object, object], value: object) -> None:
    field.set_attributes_from_name("held")
    (text,) = values_in(text_of([value]))
    assert isinstance(text, str)
    ((_, read),) = readers([field], connection)
    expected, found = field.get_db_prep_save(value, connection), read(text)
    if isinstance(value, bytes):  # as the driver wraps it
        expected, found = (bytes(getattr(wrapped, "obj", wrapped)) for wrapped in (expected, found))
    assert found == expected


def test_numbers_keep_every_digit() -> None:
    row = [0.1 + 0.2, 5e-324, -0.0, 2**63 - 1, None, True, 'ζ \u2028 "x"\n']
    assert repr(values_in(text_of(row))) == repr(row)


def test_a_line_is_one_line() -> None:
    assert "\n" not in text_of(["a\nb", {"k": "c\r\nd"}])


def test_names_in_json_have_one_order_and_numbers_one_form_in_the_digest() -> None:
    assert text_of([{"b": 1, "a": -0.0}]) == '[{"a":-0.0,"b":1}]'
    assert same_everywhere('[{"a":-0.0,"b":[1e+16,-2.5e+20]}]') == (
        '[{"a":0.0,"b":[10000000000000000,-250000000000000000000]}]'
    )
    assert same_everywhere('[-0.05,"e+ and -0.0 of a text"]') == '[-0.05,"e+ and -0.0 of a text"]'


def test_what_is_no_row_is_refused() -> None:
    with pytest.raises(ValueError, match="array"):
        values_in("{}")
