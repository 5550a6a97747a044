"""Figures that cannot be, met at the door: each rule is a pure function that holds one body against the day so far."""
