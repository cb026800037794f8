"""From a sheet's text to a Sheet, or to every mistake in it."""
