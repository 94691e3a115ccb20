"""Damp, surfaces, corrosion."""
