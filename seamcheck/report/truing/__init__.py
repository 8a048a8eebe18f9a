"""Corrections told, drawn and laid over the paper."""
