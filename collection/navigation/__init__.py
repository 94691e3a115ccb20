"""The way through the site: six entries by task, what is set up once, and one search for all."""
