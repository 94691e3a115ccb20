"""The door to the core for the plan of a site."""
