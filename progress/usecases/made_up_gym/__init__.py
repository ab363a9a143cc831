"""How the made-up gym comes about: scenario, year, people, ability, checks, and storing them."""
