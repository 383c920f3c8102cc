"""What decides a fit, and what is wrong with a catalogue."""
