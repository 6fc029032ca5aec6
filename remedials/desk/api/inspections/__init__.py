"""Inspections, reports taken in, observations, readings, notices of danger, papers."""
