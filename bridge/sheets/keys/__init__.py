"""Every section and key a sheet may have, each declared once."""
