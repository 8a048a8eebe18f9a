"""Which edges are sewn together where no plan says so: a pattern to a `Proposal`.

lines       what may be sewn, and what is measured of it
names       what words tell of a piece's place in the whole
alike       lines of which it makes no difference which one is taken
cuts        where a line may be parted though no notch says so
along       where shorter lines likely end along a longer one, which parts it there
candidates  every seam that could be
meeting     which candidates belong together: at a corner, in a row, between two pieces
features    what is measured of each, as numbers; nothing here weighs them
scorer      how likely each is, as a small network has learned it (`weights.npz`)
choose      the likeliest set, each line sewn as often as it can be
solver      all of that, and again with what a person says of an edge; which edge to ask of
asking      the questions, in words; `hints` what a plugin knows
propose     what is taken: sure, a best guess, or only asked about; allowances that nobody knows, tried
places      names for edges by where they lie
reasons     what speaks for a seam and against it, in words
plans       a solution as a `Proposal`, with a plan that names all; an older plan kept as it is
behind      one plan behind another, which keeps its names and all that it says
like        what patterns with a plan lend to one like them: names, cuts, unsewn edges, seams
again       solving again by what a plan says so far; what an edge of it may be sewn to
text        what is written of a `proposal`: the plan file, JSON, the notes of a report

What the network learns from is drafted by `fixtures/garments`; `tests/benchmarks/train_pairing.py` trains it anew.
"""
