"""Alterations by name, as plugins bring them: what is seen in the cloth, and the steps on a piece that clear it.

fit      all that is told of an alteration, and its steps
sketch   a small drawing of it, as data
which    which fit it is, by what is seen in the cloth
trousers the fits of trousers that seamcheck itself brings
piece    a piece as a fit sees it: edges by what they are, spots from its own proportions
roles    what an edge or a piece is, by the words in its name
"""
