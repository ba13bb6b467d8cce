"""The door of the server: it answers this machine alone."""
