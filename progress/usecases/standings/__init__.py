"""The engine's last answer about every athlete, kept so that a board opens at once."""
