"""Figures keyed at the office: a place keyed from its paper, the form of a count."""
