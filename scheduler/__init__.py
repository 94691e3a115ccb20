"""What is computed: how stored vehicles decay, when each duty falls due, and why.

Pure Python and numpy; no Django anywhere. Arrays in, arrays out, a whole fleet at once.
"""
