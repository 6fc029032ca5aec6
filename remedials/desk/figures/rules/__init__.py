"""Rules of the figures: counts, curves and shares from values alone."""
