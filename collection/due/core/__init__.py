"""The door to the core for reasons, curves, prices and what-if."""
