"""Exact lines in mm: curves, lengths, offsets, crossings, directions. It knows no cloth.

curve           the one curve type; it asks the modules below
bezier          cubic segments, all at once; `bsplines` makes them of arcs and splines
arclength       lengths of segments, and stations
feet            the nearest point of a run of segments
directions      directions and curvatures beside a station; `end_directions` those of a line that is unsteady at its end
intersections   where runs of segments cross
distances       how far lines lie from one another; `offset` the parallel of one, `loops` loose lines joined
kinks           what a slash leaves in a drawn line, `digitised` in a traced one
smoothing       the curve that noisy chords sample; `traced_length` how long it is
evenness        whether a measure runs evenly from size to size
affine          maps of the plane; `fitting` the one that brings points to others
kept            measures of a curve, an edge or a piece, worked out once while it lives
exact_arrays    what `exact` does, for arrays
"""
