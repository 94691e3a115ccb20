"""The duties of driveline."""
