"""Lists as tables to be saved: what a page shows, in the reader's units, for whoever may see that page."""
