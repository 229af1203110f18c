"""Words that no sheet lists: free talk, and talk about a fault while the work is held."""

__all__ = ["ASIDE", "FAULTS", "FREE"]

# (position, words); a position that the sheet lacks is not drawn.
FREE = (
    ("attendant", "the bench is a bit cold in here"),
    ("operator", "I can see you both on the left camera"),
    ("subject", "can I move my feet a little"),
    ("attendant", "yes that is fine, just stay in the seat"),
    ("recorder", "my pen has run dry, taking another one"),
    ("conductor", "no hurry, we have plenty of time this morning"),
    ("monitor", "the screen had a small glitch, it is back now"),
    ("subject", "it is rather loud when the pumps come in"),
    ("operator", "lunch is late today by the way"),
    ("conductor", "thank you everybody, nice and calm please"),
    ("attendant", "he is giving me a smile"),
    ("recorder", "somebody left a cup on the desk again"),
)

FAULTS = (
    (
        ("operator", "I have an amber light on the panel"),
        ("conductor", "say what you see please"),
        ("operator", "the cooling fan tripped, I am switching it over"),
        ("attendant", "we are comfortable inside"),
        ("operator", "fan two is running and the light is out"),
    ),
    (
        ("monitor", "I lost the picture for a moment"),
        ("conductor", "take your time"),
        ("monitor", "the cable was loose, it is seated again"),
    ),
)

# Said by somebody else while the crew works, in no sheet and in no script.
ASIDE = (
    "did you see where the new binders were put",
    "the delivery is coming at half past ten I think",
    "we could ask the workshop for another chair",
    "no the other one, behind the grey cupboard",
    "I left my jacket in the car this morning",
    "they are painting the corridor again next week",
    "can somebody close the window over there",
    "she said the report goes out before noon",
)
