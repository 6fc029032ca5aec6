"""Pages of inspections: what was found, what was decided, what was made safe."""
