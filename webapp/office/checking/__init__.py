"""The checks of one packet before anything of it is believed, and which packet of a place counts."""
