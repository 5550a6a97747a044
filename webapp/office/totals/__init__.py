"""Totals from the packets that count, small places together with a neighbor, and their comparison with a results file."""
