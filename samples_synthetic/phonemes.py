"""English text to phonemes, by espeak-ng's library called directly.

Only what short crew phrases need: clauses are split at punctuation, which is kept, because the
synthesiser reads a comma as a pause and a question mark as a rise.
"""

import ctypes
import re
from functools import cache

from voxlog.errors import InputError

__all__ = ["phonemes_of"]

_CLAUSE = re.compile(r"([,.?!;:])")
_SYNCHRONOUS = 0x02  # AUDIO_OUTPUT_SYNCHRONOUS in espeak-ng's speak_lib.h: opens no sound device
_RETURN_ON_ERROR = 0x8000  # espeakINITIALIZE_DONT_EXIT
_UTF8 = 1  # espeakCHARS_UTF8
_IPA = 0x02  # phoneme mode: International Phonetic Alphabet
_LANGUAGE_SWITCH = re.compile(r"\([a-z-]+\)")


def phonemes_of(text: str, language: str) -> str:
    """The stressed IPA of a text, its punctuation kept; language: as voices.language_of."""
    parts = [part.strip() for part in _CLAUSE.split(text)]
    spoken = ""
    for part in parts:
        if _CLAUSE.fullmatch(part):
            spoken += part
        elif part:
            spoken += f" {_phonemes_of_clause(part, language)}"
    return spoken.strip()


def _phonemes_of_clause(clause: str, language: str) -> str:
    library = _library()
    if library.espeak_SetVoiceByName(language.encode()) != 0:
        raise RuntimeError(f"espeak-ng has no voice {language!r}")
    rest = ctypes.c_char_p(clause.encode())
    pieces = []
    while rest.value is not None:
        piece = library.espeak_TextToPhonemes(ctypes.byref(rest), _UTF8, _IPA)
        pieces.append((piece or b"").decode())
    return _LANGUAGE_SWITCH.sub("", " ".join(pieces)).strip()


@cache
def _library() -> ctypes.CDLL:
    try:
        import espeakng_loader
    except ImportError:
        message = "package espeakng-loader: not installed; run: pip install '.[samples]'"
        raise InputError(message) from None
    library = ctypes.CDLL(espeakng_loader.get_library_path())
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    library.espeak_TextToPhonemes.argtypes = [
        ctypes.POINTER(ctypes.c_char_p),
        ctypes.c_int,
        ctypes.c_int,
    ]
    folder = str(espeakng_loader.get_data_path()).encode()
    if library.espeak_Initialize(_SYNCHRONOUS, 0, folder, _RETURN_ON_ERROR) <= 0:
        raise RuntimeError(f"espeak-ng found no data in {folder.decode()}")
    return library
