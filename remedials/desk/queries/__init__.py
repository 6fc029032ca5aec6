"""What the pages of the desk read: dicts of ready strings, in a bounded number of statements whatever the size."""
