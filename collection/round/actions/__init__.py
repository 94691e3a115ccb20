"""Writes: each checks, saves and logs in one transaction."""
