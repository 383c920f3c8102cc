"""The shelf's answers in a terminal."""
