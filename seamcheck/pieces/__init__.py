"""A drawing to named pieces with edges.

outline     pieces from marks, with `nesting`, `corners` and `markings`; `notes` of what was chosen
open_sew_line, overruns, block_arrows, recognition   what is drawn otherwise than as one closed line, or without a label
corner_names, corner_matching   which corner is which of the plan's
sew_line, allowances            the sew line where the file draws only the cut line
build       all of it in turn
"""
