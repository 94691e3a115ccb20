"""Help: what users, operators and programmes need to know, as pages of the site with a search."""
