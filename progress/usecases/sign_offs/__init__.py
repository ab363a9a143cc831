"""The lead moves athletes to another tier, takes that back, and finds them a place."""
