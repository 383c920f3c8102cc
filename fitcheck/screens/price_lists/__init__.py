"""The plan of a supplier's list in a terminal."""
