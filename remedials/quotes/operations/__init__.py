"""Changes to prices, the price book and quotes: import each from its module."""
