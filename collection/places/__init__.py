"""Sites, buildings, bays, climates, keys and alarms."""
