"""What standing does over time: one subject a folder, equations and parameter sets together."""
