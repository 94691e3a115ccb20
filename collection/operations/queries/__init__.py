"""Rows for pages and papers; no writing."""
