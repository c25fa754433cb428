"""The parts of a report's content, each a record made from rows. ``reports.services.freeze`` puts them together."""
