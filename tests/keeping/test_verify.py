"""A flipped byte is found, wherever it is: in a file, in what was signed, in a reading."""

from __future__ import annotations

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from config.keeping.verifying import verify
from readings.models import Reading
from tests.keeping.conftest import Kept, against_the_rules, flip

pytestmark = pytest.mark.django_db(transaction=True)


def test_all_is_well(kept: Kept, capsys: pytest.CaptureFixture[str]) -> None:
    call_command("verify", files=5, seed=3)
    said = capsys.readouterr().out
    assert "2 files and" in said
    assert "1 files read again (--seed 3)" in said
    assert "All is as it was kept." in said


def test_a_flipped_byte_of_an_original_is_found(kept: Kept, capsys: pytest.CaptureFixture[str]) -> None:
    flip(kept.original())
    with pytest.raises(CommandError) as ended:
        call_command("verify", files=5, seed=3)
    assert ended.value.returncode == 1
    said = capsys.readouterr().err
    assert f"File {kept.upload.original.name} is not what was kept" in said
    assert str(kept.upload.key) in said, "it cannot be read again either"


def test_a_file_that_is_gone_is_found(kept: Kept) -> None:
    kept.original().unlink()
    assert f"File {kept.upload.original.name} is gone." in verify(0, 0).wrong


def test_a_pdf_that_was_exchanged_is_found(kept: Kept) -> None:
    with kept.report.pdf.storage.open(str(kept.report.pdf.name), "rb") as there:
        assert there.read(4) == b"%PDF"
    (kept.media / str(kept.report.pdf.name)).write_bytes(b"%PDF-1.7 another page")
    assert [wrong for wrong in verify(0, 0).wrong if str(kept.report.pdf.name) in wrong]


def test_a_signed_content_that_was_altered_is_found(kept: Kept) -> None:
    as_text = "CAST(content AS TEXT)"
    back = "::jsonb" if connection.vendor == "postgresql" else ""
    against_the_rules(f"UPDATE reports_report SET content = replace({as_text}, 'Attic studio', 'Attic studia'){back}")
    assert [wrong for wrong in verify(0, 0).wrong if f"report {kept.report.key}" in wrong]


@pytest.mark.parametrize("change", ["raw = raw + 0.001", "flag = flag + 1", "line = line + 1", "stamp = stamp + 1"])
def test_a_reading_that_was_altered_is_found(kept: Kept, change: str) -> None:
    last = Reading.objects.filter(upload_id=kept.upload.pk, raw__isnull=False).latest("stamp")
    sql = f"UPDATE readings_reading SET {change} WHERE upload_id = %s AND stamp = %s"
    against_the_rules(sql, kept.upload.pk, last.stamp)
    wrong = verify(5, 0).wrong
    assert len(wrong) >= 1
    assert all(str(kept.upload.key) in words for words in wrong)


def test_a_reading_that_is_gone_is_found(kept: Kept) -> None:
    first = Reading.objects.filter(upload_id=kept.upload.pk).earliest("stamp")
    against_the_rules("DELETE FROM readings_reading WHERE upload_id = %s AND stamp = %s", kept.upload.pk, first.stamp)
    assert ["4 readings" in w or "3 readings" in w for w in verify(5, 0).wrong] == [True]


def test_files_to_read_again_are_drawn_by_the_seed(kept: Kept) -> None:
    assert verify(0, 1).reread == 0
    assert verify(99, 1).reread == 1
