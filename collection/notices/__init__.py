"""What goes out by itself: calendar, mail, webhooks."""
