"""The bench: a simulated car behind a simulated adapter, bytes in, bytes out."""
