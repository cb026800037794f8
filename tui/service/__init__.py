"""The whole service on screen: its steps, what each needs, what was done."""
