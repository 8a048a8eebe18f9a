"""Alterations by name, as plugins bring them: what is seen in the cloth, and the steps on a piece that clear it.

fit      all that is told of an alteration, and its steps
piece    a piece as a fit sees it: edges by what they are, spots from its own proportions
roles    what an edge or a piece is, by the words in its name
"""
