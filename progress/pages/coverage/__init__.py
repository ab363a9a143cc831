"""The room that compares a floor with what children need next."""
