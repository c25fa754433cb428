"""Bytes to lines and cells: encodings, characters, line ends, what a power cut left."""
