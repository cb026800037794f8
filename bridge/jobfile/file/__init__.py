"""The job file itself: its tables, hash chain, lock, writer and reader."""
