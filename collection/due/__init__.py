"""What is due and why, the floor plan, limits, prices, what-if."""
