"""What the floor practises against what the children in its classes need next."""
