"""A drawing becomes pieces with named edges: outlines, corners, notches, grain, names, the sew line."""
