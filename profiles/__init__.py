"""Sheets: one TOML file for each gearbox (README.md explains the keys)."""
