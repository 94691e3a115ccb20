"""The duties of tyres."""
