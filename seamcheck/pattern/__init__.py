"""The nouns: what a drawing holds, pieces and their edges, the plan as data, seams, junctions, a walk."""
