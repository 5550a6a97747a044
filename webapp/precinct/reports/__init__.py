"""What the day says to people beyond its entries: forecasts, open questions, histories, the carry slip."""
