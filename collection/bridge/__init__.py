"""The only place where records meet the computing core."""
