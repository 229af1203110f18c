"""What a person sees of a run on the terminal: `summary`, in the words of `words`; `score_table`."""
