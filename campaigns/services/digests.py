"""What is kept with its digest and is another thing by now is not handed out as if it were the same."""

from __future__ import annotations

import hashlib
from typing import IO, Any


class NotAsStored(Exception):
    """Bytes that are not those whose digest is kept. Its text is for people; ``log`` says which, for the operator."""

    def __init__(self, words: str, log: str) -> None:
        super().__init__(words)
        self.log = log


def sha256_of(stream: IO[bytes] | Any) -> str:
    """Of everything in the stream, in hexadecimal; the stream stands at its beginning again."""
    stream.seek(0)
    digest = hashlib.sha256()
    while piece := stream.read(1 << 20):
        digest.update(piece)
    stream.seek(0)
    return digest.hexdigest()
