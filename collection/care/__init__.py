"""The care log: what may be logged, by which form and rule, and what stands."""
