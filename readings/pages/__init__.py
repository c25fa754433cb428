"""What the pages of collecting show, gathered before a template sees it."""
