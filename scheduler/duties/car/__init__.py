"""The duties of car."""
