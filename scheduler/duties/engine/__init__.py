"""The duties of engine."""
