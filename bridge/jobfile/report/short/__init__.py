"""The report in short: its first page, and the papers it tells of."""
