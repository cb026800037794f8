"""The simulated car: gearbox, control units, scenes."""
