"""A whole installation as one file, on either database; and back again, on either database."""
