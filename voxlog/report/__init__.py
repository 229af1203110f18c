"""What a person sees of a run on the terminal: `summary` and `score_table`, said in `words`."""
