"""What decides about visits, from values alone."""
