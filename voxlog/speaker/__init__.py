"""Who spoke, on a channel that several positions share: by the voices heard earlier in the run."""
