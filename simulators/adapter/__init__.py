"""The simulated ELM327-class adapter and the buses behind it."""
