"""Cars that leave with their history, and cars that arrive with theirs."""
