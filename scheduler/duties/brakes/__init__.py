"""The duties of brakes."""
