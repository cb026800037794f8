"""The terminal: the command line and the full-screen app."""
