"""The file of one job: written while it runs, checked, reported and exported after.

The format is explained in docs/job-file.md.
"""
