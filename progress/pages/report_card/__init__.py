"""The room of the engine's own report card."""
