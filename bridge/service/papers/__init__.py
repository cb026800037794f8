"""The papers of a service: whose car, what was used, what came of it."""
