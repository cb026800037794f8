"""What the live screen and the phone say, by part. Pure."""
