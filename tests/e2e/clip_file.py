"""A phone's clip of one swing, made by FFmpeg's libraries: dark until the ball is struck, bright from then on, with its sound."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np

RATE_HZ = 48_000
PICTURES_HZ = 30


def sound_of(struck_s: list[float], length_s: float, *, seed: int = 5) -> np.ndarray:
    """Wind and a voice with clicks in it: each a burst of noise that dies away within 3 ms."""
    random = np.random.default_rng(seed)
    t_s = np.arange(int(length_s * RATE_HZ)) / RATE_HZ
    wind = np.convolve(random.normal(size=t_s.size), np.ones(200) / 200, "same")
    sound = 0.3 * wind + 0.05 * np.sin(2 * np.pi * 180 * t_s) * (np.sin(2 * np.pi * 0.7 * t_s) > 0)
    for k, at_s in enumerate(struck_s):
        after = t_s - at_s
        burst = np.where(after >= 0, np.exp(-np.maximum(after, 0) / 0.003), 0.0) * random.normal(size=t_s.size)
        sound += (0.5 - 0.15 * k) * burst
    return np.clip(sound, -1.0, 1.0).astype(np.float32)


def write_clip(
    path: Path, struck_s: list[float], *, length_s: float = 3.0, with_sound: bool = True, with_picture: bool = True
) -> Path:
    """WebM, VP8 and Opus. The picture turns bright at the first strike."""
    with av.open(str(path), "w", format="webm") as out:
        video = out.add_stream("libvpx", rate=PICTURES_HZ) if with_picture else None
        if video is not None:
            video.width, video.height, video.pix_fmt = 96, 160, "yuv420p"
            video.gop_size = 6
        audio = out.add_stream("libopus", rate=RATE_HZ, layout="mono") if with_sound else None
        if video is not None:
            for n in range(int(length_s * PICTURES_HZ)):
                shade = 230 if n / PICTURES_HZ >= struck_s[0] else 20
                frame = av.VideoFrame.from_ndarray(np.full((160, 96, 3), shade, np.uint8), format="rgb24")
                frame.pts, frame.time_base = n, Fraction(1, PICTURES_HZ)
                out.mux(video.encode(frame))
            out.mux(video.encode(None))
        if audio is not None:
            samples = sound_of(struck_s, length_s)
            for start in range(0, samples.size - 960, 960):
                frame = av.AudioFrame.from_ndarray(samples[None, start : start + 960], format="flt", layout="mono")
                frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, start, Fraction(1, RATE_HZ)
                out.mux(audio.encode(frame))
            out.mux(audio.encode(None))
    return path
