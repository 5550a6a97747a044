"""What a day adds up to: the figures of the balance, taken from the entries of the day."""
