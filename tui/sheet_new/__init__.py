"""`sumpgate sheet new`: a few questions, and a sheet with comments."""
