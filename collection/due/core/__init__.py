"""The door to the core for reasons, curves, upkeep and what-if."""
