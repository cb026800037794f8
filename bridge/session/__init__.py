"""One job on one car: events in, next state out, a snapshot of any moment. Pure."""
