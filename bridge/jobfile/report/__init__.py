"""A recorded job as a report: sections, plot, HTML, PDF and plain text."""
