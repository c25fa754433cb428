"""Alerts: looking for them, raising them once, telling people, and what is answered (docs/methods/alerts.md)."""
