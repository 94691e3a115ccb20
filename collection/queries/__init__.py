"""Rows for pages; no writing, no arithmetic."""
