"""When: the formats of dates and times, the columns that hold them, what they lack, and the zone they are in."""
