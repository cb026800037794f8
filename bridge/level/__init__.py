"""Whether the level may be set: gate, sensor check, volumes, tilt. Pure."""
