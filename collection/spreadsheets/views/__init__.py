"""One page a function: fetch through the access, form, one action, render."""
