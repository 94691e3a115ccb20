"""The door to the core for recommissioning."""
