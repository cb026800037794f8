"""How real adapters and cars talk: each quirk a named character, in bytes of our own.

A character changes how the simulated adapter, its bus or its units answer, from the
moment the bench starts. It says whether a patient program can read through it, and
if not, by which cause it must be refused. Passing troubles live in simulators.faults.
"""
