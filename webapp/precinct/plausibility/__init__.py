"""Figures that cannot be, refused before they are recorded: each rule is a pure function that checks one body against the day so far."""
