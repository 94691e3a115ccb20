"""Pages that lead from a car of unknown past to one that runs, stops and may be driven."""
