"""The project's own commands: demo and serve."""
