"""Values and rules. No I/O, no clock, no widgets: time is passed in."""
