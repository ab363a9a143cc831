"""The room where the lead reads and changes the floor's limits."""
