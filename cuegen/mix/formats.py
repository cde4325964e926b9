"""The one table of track formats. Encoder, checks, help and docs derive from it.

Bit rates are for one and two channels. `encoder_gain` is what the encoder does to
the level of what it is given, and is made up for. `ceiling_dbtp` is where the
limiter stops, so that the decoded file stays at or under PEAK_DBTP; a codec's own
error can lift a peak, the more of them touch the ceiling the likelier.

Measured (25 minutes of speech, one channel, one core; the figure for 1/5 of it is
the mean ratio of signal to coding noise in 1 to 4 kHz):
    mp3   at one constant rate, since players find an instant in it exactly; LAME
          then scales by 0.95 (0.97 from 192 kbit/s on), whatever its input. Level 7
          of its search is a fifth faster than the default 5 (14.0 and 17.2 s) and at
          96 kbit/s its noise is no higher (26.1 and 25.5 dB). Without its reservoir no
          frame takes room from another, so a track can be encoded in chunks: 10
          minutes took 4.3 s on two cores, and 7.7 s by one encoder. It costs 0.1 dB
          of that ratio (28.0 and 27.9, other speech), 0.7 dB with a bed.
    m4a   the coder "fast" beats "twoloop": 20 and 14 dB, 7.7 and 9.1 s.
    opus  complexity 5 beats 10 on this material: 15 and 13 dB, 7.1 and 19.5 s.
Largest lift of a true peak by the codec, dB (speech of 20 lines; 28 pieces of music
of 40 s, each 5 LU under it), limited at -2 dBTP:
    speech, one channel at -19, -16, -14, -13 LUFS    m4a 0.03  0.26  0.41  0.41
                                                      opus 0.28 0.37  1.15  1.82
    speech and music at -14 LUFS                      m4a 0.55, opus 0.60
mp3 in the same way, on 200 s of lines and 28 other pieces, rougher, with drums:
    speech, one channel at -19, -16, -14, -13 LUFS    0.04  0.16  0.20  0.33
    speech and music at -14 LUFS                      0.82 (with a reservoir 0.71)
Whole tracks with each of those pieces 5 dB under the tests' own voice, rendered at
-14 LUFS, came out of their mp3 at -1.49 dBTP or less.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from cuegen.files import by_suffix

PEAK_DBTP = -1.0
"""No true peak of a finished, decoded track is above this (EBU R 128)."""

LOUDNESS_LUFS = {1: -19.0, 2: -16.0}
"""Integrated loudness by channels where a plan names none (common practice for speech)."""

DEFAULT_SUFFIX = ".mp3"

_LIFT_FREE_DB = 3.0
_EXTRA_PER_DB = 0.4
"""From a lift of 3 dB on, the ceiling of a lossy format goes down (figures above)."""


class ChapterWay(StrEnum):
    """How a format holds its chapters."""

    CONTAINER = "container"  # the container's own: ID3 CHAP frames, a chapter track
    COMMENTS = "comments"  # Vorbis comments CHAPTER001=hh:mm:ss.mmm, CHAPTER001NAME=
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Format:
    """How a track of one suffix is written.

    sample_format is FFmpeg's name of what the encoder takes. chapter_limit: as
    many chapters as the format can count (an ID3 table of contents has 8 bits).
    frame_samples: how long the encoder's frames are, where each stands by itself and
    a track may be encoded in chunks; 0 where one rests on those before it.
    """

    suffix: str
    codec: str
    container: str
    sample_format: str
    summary: str
    ceiling_dbtp: float
    bit_rates: dict[int, int] = field(default_factory=dict)
    encoder_gain: float = 1.0
    chapters: ChapterWay = ChapterWay.NONE
    chapter_limit: int = 65_535
    lossy: bool = True
    frame_samples: int = 0
    codec_options: dict[str, str] = field(default_factory=dict)
    container_options: dict[str, str] = field(default_factory=dict)

    def ceiling(self, lift_db: float) -> float:
        """Return the limiter's ceiling for speech that is lifted over its finished clips."""
        extra = max(0.0, lift_db - _LIFT_FREE_DB) * _EXTRA_PER_DB if self.lossy else 0.0
        return self.ceiling_dbtp - extra


_ALL = (
    Format(
        suffix=".mp3",
        codec="libmp3lame",
        container="mp3",
        sample_format="fltp",
        summary="plays everywhere (the default)",
        ceiling_dbtp=-2.0,
        bit_rates={1: 96_000, 2: 160_000},
        encoder_gain=0.95,
        chapters=ChapterWay.CONTAINER,
        chapter_limit=255,
        frame_samples=1_152,
        codec_options={"compression_level": "7", "reservoir": "0"},
    ),
    Format(
        suffix=".m4a",
        codec="aac",
        container="ipod",
        sample_format="fltp",
        summary="AAC, for phones and podcast players; half the size",
        ceiling_dbtp=-2.0,
        bit_rates={1: 64_000, 2: 128_000},
        chapters=ChapterWay.CONTAINER,
        chapter_limit=255,
        codec_options={"aac_coder": "fast"},
        container_options={"movflags": "+faststart"},
    ),
    Format(
        suffix=".opus",
        codec="libopus",
        container="opus",
        sample_format="flt",
        summary="the smallest for its quality",
        ceiling_dbtp=-2.0,
        bit_rates={1: 64_000, 2: 112_000},
        chapters=ChapterWay.COMMENTS,
        codec_options={"compression_level": "5"},
    ),
    Format(
        suffix=".flac",
        codec="flac",
        container="flac",
        sample_format="s16",
        summary="without loss, 16 bits",
        ceiling_dbtp=-1.1,
        lossy=False,
        chapters=ChapterWay.COMMENTS,
    ),
    Format(
        suffix=".wav",
        codec="pcm_s16le",
        container="wav",
        sample_format="s16",
        summary="for editing, 16 bits; holds no chapters",
        ceiling_dbtp=-1.1,
        lossy=False,
        container_options={"rf64": "auto"},
    ),
)

FORMATS: dict[str, Format] = {each.suffix: each for each in _ALL}


def find_format(path: Path) -> Format:
    """Return the format that a file's suffix names; raises OutputError for an unknown one."""
    return by_suffix(path, FORMATS, "a track")
