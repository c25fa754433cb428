"""What a version of an agreement says: frozen when it is offered, and never altered afterwards.

It is kept as JSON in its one spelling, whose digest the client's acceptance names. Whoever changes the records raises
``FORMAT`` and adds to ``UPGRADERS`` how a content of the former format is told in the new one, adding nothing that was
not agreed; the digest stays that of the stored object.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from campaigns.frozen.canonical import digest
from campaigns.frozen.records import Codec
from methods.wording.agreements import AgreedTerms

FORMAT = 2

Stored = dict[str, Any]


def _without_acceptance(stored: Stored) -> Stored:
    """1 → 2: acceptance limits of quality control were no part of it, so nothing is held against them."""
    return {**stored, "terms": {**stored["terms"], "acceptance": None}}


#: By the format it starts from; each leads to the next one.
UPGRADERS: Mapping[int, Callable[[Stored], Stored]] = {1: _without_acceptance}


@dataclass(frozen=True, slots=True)
class AgreedContent:
    """question: whose air, where and when (population and boundary); decision: what will be decided by the answer;
    undecided: what follows where nothing can be decided. rule: how verdicts come about, sentences."""

    format: int
    version: int
    organisation: str
    client: str
    campaign: str
    question: str
    decision: str
    undecided: str
    rule: tuple[str, ...]
    errors: str
    terms: AgreedTerms


CODEC = Codec(AgreedContent)


class UnreadableAgreement(ValueError):
    """A stored agreement of a format that this version of the program does not know."""


def to_store(content: AgreedContent) -> Stored:
    """The JSON object that is stored. Raises RecordError for what is no such content."""
    stored: Stored = json.loads(CODEC.text(content))
    return stored


def from_store(
    stored: Any, *, upgraders: Mapping[int, Callable[[Stored], Stored]] = UPGRADERS, newest: int = FORMAT
) -> AgreedContent:
    """The record of a stored agreement. Raises UnreadableAgreement, or RecordError with the place of what is wrong."""
    return CODEC.read(upgraded(stored, upgraders=upgraders, newest=newest))


def upgraded(stored: Any, *, upgraders: Mapping[int, Callable[[Stored], Stored]], newest: int) -> Stored:
    """``stored`` in the newest format, through each upgrader in turn; the argument is left alone."""
    if not isinstance(stored, dict) or type(number := stored.get("format")) is not int:
        raise UnreadableAgreement("This agreement does not say in which format it is.")
    for step in range(number, newest):
        if step not in upgraders:
            break
        stored = {**upgraders[step](stored), "format": step + 1}
    if stored["format"] != newest:
        raise UnreadableAgreement(
            f"This agreement is of format {number}, which this version of the program does not read."
        )
    told: Stored = stored
    return told


def digest_of(stored: Stored) -> str:
    """SHA-256 of the stored object in its one spelling, in hexadecimal."""
    return digest(stored)
