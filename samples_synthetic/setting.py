"""Conditions that nothing was fitted to: named settings of voice, microphone, line and room.

A setting says how a recording differs from a clean one. Settings add up: `helium+hum-50` has the
voices of the one and the hum of the other; where both say something, the last one counts. What was
chosen by ear and what has a source stands beside each field; `README.md` has the table.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, Final, Literal

from voxlog.errors import InputError

__all__ = ["SETTINGS", "Setting", "setting_of"]


@dataclass(frozen=True, slots=True)
class Setting:
    """How a recording is to sound. The voice, then the microphone and line, then the room.

    rate: words a minute of each speaker while speaking, None for the voice's own.
    pitch, formants: factors on the fundamental and on the spectral envelope's frequencies.
    strain: dB an octave by which the voice is brighter above 1 kHz.
    breath_words: words said in one breath, None for whole lines.
    is_accented: the phonemes of another accent than the voice's own.
    low_pass: -3 dB point of the microphone in Hz, None for no low-pass.
    is_squelched: a radio opens late, is silent between calls, and hisses when it closes.
    noise, over: what is heard under the speech, and by how many dB it is weaker; None for none.
    hum, hum_over: mains frequency in Hz, None for none, and by how many dB it is weaker.
    talk, talk_over: who else speaks: `crew`, across a third of the lines, or `people`, real
    voices all along; and by how many dB they are weaker.
    """

    rate: float | None = None
    pitch: float = 1.0
    formants: float = 1.0
    strain: float = 0.0
    breath_words: int | None = None
    is_accented: bool = False
    low_pass: float | None = None
    is_squelched: bool = False
    noise: Literal["compressor", "fan"] = "compressor"
    over: float | None = None
    hum: float | None = None
    hum_over: float = 0.0
    talk: Literal["crew", "people"] | None = None
    talk_over: float = 6.0

    @property
    def is_revoiced(self) -> bool:
        return (self.pitch, self.formants, self.strain) != (1.0, 1.0, 0.0)

    def plus(self, other: "Setting") -> "Setting":
        """Both together; where both differ from a clean recording, the other counts."""
        clean = Setting()
        said: dict[str, Any] = {f.name: getattr(other, f.name) for f in fields(other)}
        return replace(self, **{k: v for k, v in said.items() if v != getattr(clean, k)})


SETTINGS: Final[Mapping[str, Setting]] = {
    "clean": Setting(),
    "compressor": Setting(over=10),  # the noise of the shipped scenarios, to compare with
    "pressure-breathing": Setting(over=10, pitch=1.25, strain=4, breath_words=2),
    "helium": Setting(over=10, formants=1.3),
    "mask": Setting(over=10, low_pass=1500),
    "squelch": Setting(over=10, is_squelched=True),
    "hum-50": Setting(hum=50),
    "hum-60": Setting(hum=60),
    "fan": Setting(noise="fan", over=3),
    "two-at-once": Setting(over=20, talk="crew"),
    "people": Setting(over=20, talk="people", talk_over=10),
    "rate-120": Setting(over=10, rate=120),
    "rate-240": Setting(over=10, rate=240),
    "accent": Setting(over=10, is_accented=True),
}


def setting_of(names: str) -> Setting:
    """`helium+hum-50` to one setting; InputError for a name that is not in SETTINGS."""
    together = Setting()
    for name in names.split("+"):
        if name not in SETTINGS:
            raise InputError(f"setting {name!r}: unknown; name some of {', '.join(SETTINGS)}")
        together = together.plus(SETTINGS[name])
    return together
