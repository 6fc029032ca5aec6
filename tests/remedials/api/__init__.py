"""The API, area by area."""
