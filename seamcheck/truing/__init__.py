"""Corrections that were tried and judged, and the file written back."""
