"""The commands, their options, and where output goes."""
