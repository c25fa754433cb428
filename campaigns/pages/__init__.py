"""What the pages of planning show, gathered in a number of queries that rows do not change."""
