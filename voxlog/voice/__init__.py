"""What the tool says aloud, in the one output that was chosen: a tone and a few spoken words."""
