"""The shared language: one row for each thing that forms, logs, tables, papers and the core name.

Rows only, no logic; nothing else of ours is imported, so that anything may read them. A row says what
a thing is called and touches; the module of the same code computes it (``scheduler/duties``). The order
of rows is the order on pages, and of the core's codes: a new row goes to the end.
"""
