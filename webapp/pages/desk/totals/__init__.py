"""Pages of totals and of the editions made from them."""
