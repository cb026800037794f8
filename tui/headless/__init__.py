"""The tool without a screen: JSON lines out, typed lines in."""
