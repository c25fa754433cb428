"""The parts of a report's content, each plain JSON made from rows. ``reports.services.freeze`` puts them together."""
