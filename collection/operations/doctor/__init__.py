"""Looks an installation over and says in words what is wrong with it and how to mend it."""
