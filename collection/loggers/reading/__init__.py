"""Reading a logger's file: lines, table, stamps, numbers, columns; no database."""
