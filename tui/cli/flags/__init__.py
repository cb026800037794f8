"""Flags that several verbs share, and what they come to."""
