"""An alteration told: rehearsed or written, as text, as JSON, as a picture of before and after.

steps     the moves in words
told      what is done, what comes of it, what must follow, what is beyond sense
marks     the places of a move, lettered, as a person finds them with a tape
step_words, work_sheet   the moves for paper, ruler and tape, to print
picture   before and after, with the cuts
forms     all of these, by the word that asks for each
"""
