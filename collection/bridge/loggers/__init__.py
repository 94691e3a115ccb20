"""Loggers' files through the core: understood, thinned, kept, and turned into air and readings."""
