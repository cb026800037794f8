"""What a careful reader would doubt about a sheet without a mistake."""
