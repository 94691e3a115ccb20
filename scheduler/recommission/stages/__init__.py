"""The staged plan R0 to R15: what to do and measure, what counts as passed, and what shuts the gate."""
