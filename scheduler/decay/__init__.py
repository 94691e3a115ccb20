"""What storage does over time: one mechanism a file, each a page of a handbook."""
