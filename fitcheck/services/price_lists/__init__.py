"""From a supplier's list to reviewed entries of the catalogue."""
