"""The room that shows skills and children on one scale, and moves skills between tiers."""
