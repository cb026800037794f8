"""How the surplus runs down: drips, pulses, settle time. Pure."""
