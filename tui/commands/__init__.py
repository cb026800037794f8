"""One module for each verb of the command line; each has ``run(args) -> int``."""
