"""The room that shows whom a lead may want to look at."""
