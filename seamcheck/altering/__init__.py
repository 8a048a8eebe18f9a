"""An alteration carried out on the exact lines: cut, turned, taped down, redrawn, given back, and what it leaves to be followed.

solving    a number or a few numbers for which something comes out as wanted
taping     an outline in parts that moved, taped into one line again: stubs across gaps, lines to where they cross
cutting    a piece cut in two along a straight line, or in more with relief cuts: which part a place belongs to
carry      a piece relaid: its outline, and all that lies on it, where its parts went
turning    hinge and parallel
reshaping  scoop, extend, taper, wedge
redrawing  stretches of an outline drawn anew between places that stay
darts      a dart deeper, longer, moved; closing: closed, and opened in another place
finishing  kinks blended, the grain ruled straight, what was taken given back
run        the steps of a recipe in order, each place found again after the one before; size by size
rehearse   what an alteration does, as facts
one_side   one side alone altered: which pieces are cut as two, and the plan of both; write_one_side: the file with both
writing    the altered pattern with its recipe and its plan beside it; undo: what gives back the one before it
"""
