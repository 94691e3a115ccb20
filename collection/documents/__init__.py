"""Paper: plain values in, a finished document out."""
