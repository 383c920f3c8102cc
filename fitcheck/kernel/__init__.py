"""Pure functions of gearing and geometry: no files, no records, no third-party packages."""
