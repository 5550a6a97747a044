"""Pages of one polling place."""
