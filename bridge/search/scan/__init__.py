"""The search on a real link: sweep, hunt, listen, at a limited pace."""
