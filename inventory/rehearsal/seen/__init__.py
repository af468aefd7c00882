"""What a simulated builder may see: the plan, the prices, the shop's record."""
