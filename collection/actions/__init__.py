"""Changes to records: each checks, saves and logs in one transaction."""
