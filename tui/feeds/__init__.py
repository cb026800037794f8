"""Where snapshots come from and who else gets them: screen, phone, voice."""
