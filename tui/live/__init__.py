"""The level screen: the app, its state, its keys."""
