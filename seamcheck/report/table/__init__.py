"""The cutting table: the one page on which a person looks at a pattern, says what is sewn to what, and trues it.

told      a proposal or a result as the data that the page shows
page      the page of a proposal: one HTML file that needs no network and no server

The same page is shown by `seamcheck watch`, with a server behind it in the stead of the file: `host.js` alone knows which. Its parts
lie beside these modules and are put into one file: `table.html`, `table.css`, and plain scripts in this order, each knowing only
those before it.

toml.js       reads TOML with the place of every key
plan.js       a plan's text as parts and back, so that what nobody touched stays to the letter
state.js      what a person decided and the ways to change it
structure.js  corners, names, darts, pleats and what is accepted, as changes of the text alone
words.js      lengths in mm and inches, sides and seams in words, what speaks against a pair
host.js       where the plan goes and where news come from: a file and this browser, or the server
desk.js       what is shown and chosen now, and the one way to change it
picture.js    the pieces on the table; moving, nearing, choosing
strip.js      two sides laid beside each other
panel.js      what is chosen, the question, the lists
look.js       the verdict and its causes, sizes, search
truing.js     proposals of lines drawn anew
altering.js   a fit rehearsed while its amount is moved, and written
which.js      which fit it is: what is seen in the cloth, one question at a time
start.js      listens, and shows all for the first time

They do no geometry: the places of plates, bands and ends are worked out in `pairing/sheet`, for the picture and the page alike.
"""
