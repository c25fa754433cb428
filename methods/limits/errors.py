"""The one error of the limits library."""

from __future__ import annotations


class LimitDataError(ValueError):
    """A data file of limits is wrong: names the file, the code of the row (or its place) and the field."""

    def __init__(self, file: str, code: str, field: str, message: str) -> None:
        super().__init__(f"{file}: {code}: {field}: {message}")
        self.file = file
        self.code = code
        self.field = field
