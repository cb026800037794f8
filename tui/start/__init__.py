"""The start screen: what to begin or go on with, chosen by arrows and Enter."""
