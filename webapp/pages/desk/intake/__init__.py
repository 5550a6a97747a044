"""Pages for what comes in: packets, lists of batches, paper to key, bundles of desks apart, other offices."""
