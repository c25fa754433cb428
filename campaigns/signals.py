"""What campaigns tells the apps above it, which it does not know by name."""

from __future__ import annotations

from django.dispatch import Signal

#: Sent with ``campaign_ids`` when something changed that a judgement rests on. Sent inside the transaction.
inputs_changed = Signal()
