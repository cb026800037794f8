"""What everything else speaks of: sheet, readings, events, errors. No rules, no I/O."""
