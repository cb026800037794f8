"""What the bench can do wrong, by name and by time."""
