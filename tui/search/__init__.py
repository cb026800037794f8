"""`sumpgate find` at the terminal: runs, files, what it prints."""
