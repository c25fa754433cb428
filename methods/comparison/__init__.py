"""Series of readings held against each other, and how readings are distributed."""
