"""Forms of collecting: layouts, clocks, the timeline."""
