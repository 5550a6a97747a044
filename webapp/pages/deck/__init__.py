"""Pages of the accuracy test."""
