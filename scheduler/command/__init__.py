"""The core as a command and a library: cars as plain dated facts in, states, duties and the past out.

``facts`` are the shapes of what is read, ``answers`` of what is said; ``reading`` turns the one into
the core's arrays, ``forecast`` asks the core. Dates are days, units stand in the names.
"""
