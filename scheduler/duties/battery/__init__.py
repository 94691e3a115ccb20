"""What falls due at the battery."""
