"""Paper: plain values in, PDF out."""
