"""The day: the entries of a record folded into what is true now."""
