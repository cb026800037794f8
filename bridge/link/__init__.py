"""The conversation with the adapter and the car: exchange, link, poller, health."""
