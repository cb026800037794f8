"""Several jobs seen together: two side by side, all of one car, a year."""
