"""Reading Help: the rendered pages by sections, and what is found in them."""
