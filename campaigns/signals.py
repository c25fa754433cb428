"""What campaigns tells the apps above it, which it does not know by name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.dispatch import Signal

_held: ContextVar[set[int] | None] = ContextVar("held", default=None)


class InputsChanged(Signal):
    """Sent with ``campaign_ids``; inside ``once`` it is held back and sent a single time for all that changed."""

    def send(self, sender: Any, campaign_ids: Iterable[int] = (), **named: Any) -> list[tuple[Any, Any]]:
        if (held := _held.get()) is not None:
            held.update(campaign_ids)
            return []
        return super().send(sender, campaign_ids=list(campaign_ids), **named)

    @contextmanager
    def once(self, sender: Any) -> Iterator[None]:
        """What is done in here counts as one change. Nothing is sent where it fails: then nothing has changed."""
        changed: set[int] = set()
        token = _held.set(changed)
        try:
            yield
        finally:
            _held.reset(token)
        if changed:
            self.send(sender, campaign_ids=sorted(changed))


#: Asked with ``site`` before its client becomes another: answers are sentences that the person has to confirm.
client_changes = Signal()

#: Sent with ``campaign_ids`` when something changed that a judgement rests on. Sent inside the transaction.
inputs_changed = InputsChanged()
