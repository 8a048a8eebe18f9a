"""Which edges are sewn together where no plan says so: a pattern to a `Proposal`.

lines       what may be sewn, and what is measured of it
names       what words tell
evidence    each reason, in points (logarithms of odds)
candidates, twins, rows   every possible seam
solve       the best set of them
junctions   what seams tell of one another where they meet
doubts      why one is only asked about
propose     all of it in turn
plans, text  what is written of it
"""
