"""Files of many shapes, languages, encodings and faults, each with the truth of what is in it. All of them invented."""
