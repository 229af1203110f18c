"""How the speech model was fitted to intercoms: `python -m samples_synthetic.adaptation`."""
