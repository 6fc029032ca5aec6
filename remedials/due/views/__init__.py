"""Pages of the due list's own: one room for each thing that people do there."""
