"""What the program writes about itself: one line an event, no names, no secrets, no owner's data."""
