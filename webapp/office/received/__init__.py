"""Packets and goods that came in: stored files, reports, states of places, late places, the receipt."""
