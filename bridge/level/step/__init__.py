"""The level step as a state machine: marks, transitions, judgement. Pure."""
