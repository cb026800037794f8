"""The version of the rules that decide: the gate, the sensor check, the level step."""

RULES = 2
"""Raise it by one with the first change since a release by which a recorded job would
be decided otherwise: a verdict, a reason, a phase, a judgement, one of their figures.
A job names the version that decided it; one without a name is of version 1."""
