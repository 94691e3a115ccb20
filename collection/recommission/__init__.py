"""A car that stood too long: evidence, plan, search for a fault, intake report."""
