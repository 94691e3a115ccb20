"""The API for programmes: tokens in, JSON out. See ``site.py``; a noun a file."""
