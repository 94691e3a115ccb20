"""Statements over the chains, the exported proof, everything checked."""
