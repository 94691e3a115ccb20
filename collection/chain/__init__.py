"""The chain of one car's care log: canonical form, digests, statements, verifier. No Django, no database."""
