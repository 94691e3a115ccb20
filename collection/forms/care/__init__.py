"""One small form for each kind of care log entry, in the order in which it is met at the car."""
