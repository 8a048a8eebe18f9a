"""A `Report` told in every format, from it alone.

telling     the sentences that all reports for a person share
figures     drawings: seams, junctions, pieces, what is sewn to what
html        the page of a report
pairing     the picture of a proposal, and the page that confirms it
comparison  what an alteration changed
truing      what corrects it
explain     the topics of `seamcheck explain`
notebook    what a notebook shows
"""
