"""What was done and measured at cars, entry by entry, as the events that the duties are computed from."""
