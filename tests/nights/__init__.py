"""Simulated election nights: a polling place's day, its people's mistakes, and how well the balance explains them."""
