"""Brake fluid, coolant, oil."""
