"""The door to the waking of long-stood cars: rows in, the core's plain answers out."""
