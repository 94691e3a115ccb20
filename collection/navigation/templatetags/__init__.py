"""Where the reader is."""
