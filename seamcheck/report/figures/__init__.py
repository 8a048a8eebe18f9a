"""Drawings of what a report tells: seams, junctions, pieces, sizes, and the seam graph. Each makes one `Figure`."""
