"""What people type, cleaned to SI once."""
