"""A car's record: what it is, its battery, fuel, fluids and tyres."""
