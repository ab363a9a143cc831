"""The room where coaches plan the floor: the weeks, the builder of a setup, the station library."""
