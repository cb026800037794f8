"""The bridge from the car to the go/no-go: values in, snapshots out."""

VERSION = "0.2.0"
"""Of the whole program; everything else that tells it reads it here."""
