"""Piper voices: the one of the extra `piper`, or files that a coach owns.

A Piper model draws its own noise, which cannot be seeded line by line, so a line
would differ from run to run. Both noise scales are therefore 0: the same text
gives the same samples, at the cost of a little liveliness. The engine leaves no
silence between sentences; a pause is put there, since a listener needs one.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from onnxruntime import InferenceSession, SessionOptions
from piper import PiperVoice, SynthesisConfig
from piper.config import PiperConfig

from cuegen.voice.clip import Samples
from cuegen.voice.engines.pace import Pace

_PAUSE_S = 0.15

_PACE = Pace(
    settings=(0.5, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.25, 1.3, 1.36, 1.4, 1.5, 1.7, 2.0),
    speeds=(0.565, 0.76, 0.87, 0.96, 1.0, 1.05, 1.1, 1.14, 1.18, 1.255, 1.3, 1.4, 1.56, 1.65),
)


class PiperEngine:
    def __init__(self, settings: Mapping[str, str], _scratch: Path) -> None:
        described = json.loads(Path(settings["config"]).read_text(encoding="utf-8"))
        config = PiperConfig.from_dict(described)
        options = SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        model = InferenceSession(settings["model"], options, providers=["CPUExecutionProvider"])
        self._voice = PiperVoice(session=model, config=config)
        self._length_scale = float(config.length_scale)

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        manner = SynthesisConfig(
            length_scale=self._length_scale / _PACE.setting(speed),
            noise_scale=0.0,
            noise_w_scale=0.0,
            normalize_audio=False,
        )
        rate = int(self._voice.config.sample_rate)
        pause = np.zeros(round(_PAUSE_S / speed * rate), dtype=np.float32)
        parts: list[Samples] = []
        for sentence in self._voice.synthesize(text, manner):
            parts += [pause] if parts else []
            parts.append(np.asarray(sentence.audio_float_array, dtype=np.float32))
        return np.concatenate(parts or [pause[:0]]), rate
