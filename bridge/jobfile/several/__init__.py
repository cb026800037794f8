"""Several jobs seen together: side by side, all of one car, a year; how they warmed."""
