"""The counter's answers in a terminal."""
