"""Pages and parts that place and office have in common."""
