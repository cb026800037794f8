"""What the steps of the service say, and what answers a typed line. Pure."""
