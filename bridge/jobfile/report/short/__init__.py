"""The report in short: its first page, the level in figures, the papers it tells of."""
