"""Looking for the fluid's identifier: plan, evidence, ranking, confirmation. Pure."""
