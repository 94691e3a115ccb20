"""The door to the core for loggers' files."""
