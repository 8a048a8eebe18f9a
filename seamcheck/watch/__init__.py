"""The pattern on the table beside the editor: a server on this machine alone that judges at every save and shows the result.

job        which files are watched, also as they come into a folder and go, and what was asked for
table      one pattern as it is shown now: its plan, what was found, what is proposed, each a value; and what changed
judging    from the files to a new table
pairs      what follows from a plan so far: the pairing solved again
plan_edit  a plan written at each step, if nobody else wrote it meanwhile
refusals   what somebody refused, kept until the next run
trying     lines drawn anew, tried and shown before they are taken; written beside the original, and taken back
altering   a fit rehearsed while its amount is moved, and carried out beside the original
printing   what is printed and sent
saving     files that were saved, and whether they are whole
desk       all of that for the run, a step after the other, and the news of it
guard      who may ask: this machine, with the word of this run, from the page itself
server     the ways in

The page is that of `report/table`. `cli/watching.py` starts and ends the server; nothing else imports it.
"""
