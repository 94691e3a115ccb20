"""Sensors that send their readings themselves: the door, what is kept, what it means for a car."""
