"""The whole service in figures: log, amounts, balance, torque, due date. Pure."""
