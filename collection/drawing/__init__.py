"""Curves, charts, marks along the days and papers: plain values in, a figure or a paper out."""
