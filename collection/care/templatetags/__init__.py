"""The care log in words."""
