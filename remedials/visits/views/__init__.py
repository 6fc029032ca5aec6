"""Pages of visits."""
