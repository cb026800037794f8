"""What the steps of the service say. Pure."""
