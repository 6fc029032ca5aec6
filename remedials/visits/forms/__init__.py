"""What may be typed about visits."""
