"""What a gap is consistent with: the cheapest sets of ordinary mistakes that give exactly the gaps seen."""
