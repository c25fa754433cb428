"""Files on this host: on the disk before anybody is told, and nobody else's."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from unittest.mock import patch

import pytest
from django.core.files.base import ContentFile

from config.storage import WholeFiles
from tests.config.starting import manage


def test_a_file_is_on_the_disk_before_anybody_is_told(tmp_path: Path) -> None:
    synced: list[bool] = []
    with patch("config.storage.os.fsync", side_effect=lambda fd: synced.append(stat.S_ISDIR(os.fstat(fd).st_mode))):
        kept = WholeFiles(location=tmp_path).save("a/log.csv", ContentFile(b"1"))
    assert synced == [False, True], "the bytes, then the name"
    assert (tmp_path / kept).read_bytes() == b"1"


@pytest.mark.skipif(os.name != "posix", reason="modes as POSIX has them")
def test_nobody_else_on_the_machine_can_read_what_is_kept(tmp_path: Path) -> None:
    var = tmp_path / "var"
    code = (
        "from django.core.files.base import ContentFile; from django.core.files.storage import default_storage as s; "
    )
    done = manage(var, "shell", "--verbosity", "0", "-c", code + "s.save('a/log.csv', ContentFile(b'1'))")
    assert done.returncode == 0, done.stderr
    for path in (var, *var.rglob("*")):
        assert not path.stat().st_mode & 0o077, path
