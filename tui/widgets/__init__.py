"""The parts of the screen; each draws one part of a ScreenState."""
