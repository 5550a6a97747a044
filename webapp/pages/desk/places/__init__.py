"""Pages about one place or the list of places."""
