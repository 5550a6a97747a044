"""Tablets: pairing, what they remember, what they hold while the laptop is out of reach."""
