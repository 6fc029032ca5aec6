"""What pages of prices and quotes read: import each from its module."""
