"""State of a running office that its pages share: what it knows, works out and decides."""
