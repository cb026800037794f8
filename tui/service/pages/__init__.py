"""The pages of the service screen, one for each kind of step. Pure."""
