"""The values every other package uses: sheet, readings, events, errors. No I/O."""
