"""Forms of prices, the price book and quotes."""
