"""What migrations needed of the rooms on their day, kept as it was: never changed."""
