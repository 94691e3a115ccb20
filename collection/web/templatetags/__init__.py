"""Words and shapes for templates."""
