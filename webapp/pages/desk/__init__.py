"""Pages of the central office's desk."""
