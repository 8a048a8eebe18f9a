"""Proposing which edges are sewn together where no plan says so."""
