"""The duties of fuel."""
