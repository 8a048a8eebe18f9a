"""Puts `pattern_making` within reach of every folder of tests."""
