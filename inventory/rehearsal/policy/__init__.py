"""Ways of buying: what they decide, by what a builder may see."""
