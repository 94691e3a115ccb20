"""What other pages need to lead into Help."""
