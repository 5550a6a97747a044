"""State of a running place that its pages share, and the parts it is made of."""
