"""The trade's calculations and its reading of logs: arrays and numbers in, arrays and numbers out, and no framework."""
