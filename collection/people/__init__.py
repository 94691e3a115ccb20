"""Members, owners, roles, the way in, privacy."""
