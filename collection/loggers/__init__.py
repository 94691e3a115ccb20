"""Reading a logger's file: bytes in, moments and numbers out; each file answers one question. No database."""
