"""The nouns of a pattern.

drawing     marks as an importer found them, each with its place in the file
model       pattern, pieces, edges, notches, grain, darts
plan        the seam plan as data
recipe      an alteration as data; spots says where the places are that it speaks of
seams, junctions, seam_graph, junction_layout, walk   what is sewn, and how it is laid together
subject     what a finding is about, by identity
words, names, scale   what words on a drawing say; the size of it
"""
