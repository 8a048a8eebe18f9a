"""The checks: one module per family, each check one small function and its own documentation."""
