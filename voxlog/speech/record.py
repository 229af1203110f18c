"""An utterance as the run folder keeps it."""

from base64 import b64encode
from collections.abc import Sequence
from typing import Any

from voxlog.sheet.phrases import Phrase
from voxlog.speech.utterance import Utterance

__all__ = ["surmised_field", "utterance_record", "voice_field"]


def utterance_record(utterance: Utterance, phrases: Sequence[Phrase]) -> dict[str, Any]:
    """An utterance as a line of utterances.jsonl; times in milliseconds, evidence in millinats."""
    return {
        "channel": utterance.channel + 1,
        "start_ms": round(utterance.start * 1000),
        "end_ms": round(utterance.end * 1000),
        "text": utterance.text,
        **voice_field(utterance),
        **surmised_field(utterance),
        "heard": [
            {
                "text": heard.sayable.text,
                "act": phrases[heard.sayable.phrase].act,
                "step": phrases[heard.sayable.phrase].step,
                "value": None if heard.sayable.value is None else f"{heard.sayable.value:g}",
                "evidence_millinats": round(heard.evidence * 1000),
            }
            for heard in utterance.heard
        ],
    }


def surmised_field(utterance: Utterance) -> dict[str, bool]:
    """`surmised`, where it is so."""
    return {"surmised": True} if utterance.surmised else {}


def voice_field(utterance: Utterance) -> dict[str, str]:
    """`voice`, where there is one: the 80 signed bytes of speaker/voiceprint.py in base 64."""
    return {"voice": b64encode(utterance.voice).decode()} if utterance.voice else {}
