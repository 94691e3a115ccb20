"""Rows to the core and its answers back to rows: gathered, computed, stored, kept true."""
