"""Writes: a sensor made and ended, its readings taken, kept as hours, and made into facts."""
