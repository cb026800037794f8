"""Ways to reach the bench: TCP, pty, in-process pipe, playback."""
