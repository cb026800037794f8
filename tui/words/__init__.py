"""The sentences a person reads on a screen. Pure.

Help on the command line and errors about a flag stay beside their flag (tui/cli,
tui/sheet_new, every UsageError).
"""
