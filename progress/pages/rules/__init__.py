"""The room where the lead changes what the engine decides with, and sees first who would change."""
