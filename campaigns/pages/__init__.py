"""What campaign planning shows of limits, gathered in a number of queries that rows do not change."""
