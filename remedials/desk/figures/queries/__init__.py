"""What the pages of figures read. Each figure is a few `Table`s and drawings, in a bounded number of statements."""
