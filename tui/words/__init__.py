"""The sentences a person reads. Pure."""
