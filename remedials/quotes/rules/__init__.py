"""Pure rules of prices and quotes: sums, VAT, choosing among lines, what changed. Values only."""
