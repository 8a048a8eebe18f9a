"""Exact lines in mm: curves, lengths, offsets, crossings, directions. It knows no cloth."""
