"""One module for each migration, in order of their numbers."""
