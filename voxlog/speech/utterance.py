"""The utterance: a stretch of speech and what was said in it."""

from dataclasses import dataclass

__all__ = ["Heard", "Sayable", "Utterance"]


@dataclass(frozen=True, slots=True)
class Sayable:
    """A phrase of the sheet with its slot filled: words that can be spoken as they stand.

    text: the plain words. phrase: index into the sheet's phrases. value: what fills the slot, None
    for a phrase without one. written: as Whisper likes to write it where that differs, with figures
    for the number. chance: natural logarithm of the share that this filling has of the phrase's
    fillings, 0 for a phrase without a slot: a phrase that can end in any of sixty numbers is not
    sixty times as likely. Two phrases with the same words are one text with two sayables.
    """

    text: str
    phrase: int
    value: float | None = None
    written: str = ""
    chance: float = 0.0


@dataclass(frozen=True, slots=True)
class Heard:
    """One thing that an utterance may have been.

    sayable: what it would be. evidence: natural logarithm of how much better the audio fits these
    words than it fits speech that the sheet does not list; 0 is undecided.
    """

    sayable: Sayable
    evidence: float


@dataclass(frozen=True, slots=True)
class Utterance:
    """Speech on one channel, from first to last sound of it.

    channel: 0-based. start, end: seconds from the start of the recording. bursts: the stretches of
    voice in it, seconds likewise; pauses lie between. text: the free
    transcription, never prompted. heard: phrases of the sheet that it may have been, best first;
    speech that is none of them has evidence 0 by definition. voice: what the voice sounds like
    (speaker/voiceprint.py); empty where who speaks is known, or too little was said. surmised:
    perhaps nothing was said here: the sound fits the phrase before it alone a little better, and
    the evidence is against that; what follows tells whether the answer was here.
    """

    channel: int
    start: float
    end: float
    bursts: tuple[tuple[float, float], ...]
    text: str
    heard: tuple[Heard, ...]
    voice: bytes = b""
    surmised: bool = False
