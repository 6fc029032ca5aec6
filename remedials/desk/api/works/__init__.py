"""Remedials: made, decided, done, proved, reviewed."""
