"""The duties of cooling."""
