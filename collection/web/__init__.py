"""What every page shares: middleware, measure fields, units at the edge, faults of forms, plain filters."""
