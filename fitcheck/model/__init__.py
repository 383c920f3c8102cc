"""The records of a catalogue: strict pydantic models that know nothing of files."""
