"""Tables as people keep them: read, understood and written; no pages, no database."""
