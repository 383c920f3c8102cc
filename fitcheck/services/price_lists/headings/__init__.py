"""Find the header of a list, recognise its columns, and sort its rows."""
