"""Hearing what the page sounds: the samples on their way to the loudspeaker, as numpy."""

from __future__ import annotations

import base64
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from playwright.async_api import Page

# Copies whatever is connected to an AudioContext's destination into `window.__pcm`. The tap needs a worklet from a
# blob, which the page's own security policy rightly forbids: open the page with `bypass_csp=True`.
TAP = r"""
(() => {
  const code = `registerProcessor('tap', class extends AudioWorkletProcessor {
    process(inputs) { const x = inputs[0][0]; if (x) this.port.postMessage(x.slice()); return true; }
  })`;
  const url = URL.createObjectURL(new Blob([code], { type: 'text/javascript' }));
  const taps = new WeakMap();
  const connect = AudioNode.prototype.connect;
  window.__pcm = [];
  AudioNode.prototype.connect = function (target, ...rest) {
    const tap = target === this.context.destination ? taps.get(this.context) : undefined;
    if (tap) connect.call(this, tap);
    return connect.call(this, target, ...rest);
  };
  const Original = window.AudioContext;
  window.AudioContext = class extends Original {
    constructor(options) {
      super(options);
      const hub = new GainNode(this);
      taps.set(this, hub);
      window.__rate = this.sampleRate;
      this.audioWorklet.addModule(url).then(() => {
        const tap = new AudioWorkletNode(this, 'tap', { numberOfOutputs: 0 });
        tap.port.onmessage = (event) => window.__pcm.push(event.data);
        connect.call(hub, tap);
        window.__tapReady = true;
      });
    }
  };
})();
"""

_TAKE = r"""
(atLeast) => new Promise((resolve) => {
  const poll = () => {
    const n = window.__pcm.reduce((sum, chunk) => sum + chunk.length, 0);
    if (n < atLeast) return setTimeout(poll, 20);
    const all = new Float32Array(n);
    let at = 0;
    for (const chunk of window.__pcm) { all.set(chunk, at); at += chunk.length; }
    window.__pcm.length = 0;
    const bytes = new Uint8Array(all.buffer);
    let text = '';
    for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
    resolve([window.__rate, btoa(text)]);
  };
  poll();
})
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """Samples shape (n,), full scale 1, at `rate_hz`."""

    samples: NDArray[np.float32]
    rate_hz: float

    @property
    def peak(self) -> float:
        return float(np.abs(self.samples).max(initial=0.0))

    def frequency_hz(self) -> float:
        """Frequency of the strongest partial, by the peak of the spectrum."""
        windowed = self.samples * np.hanning(len(self.samples))
        spectrum = np.abs(np.fft.rfft(windowed, n=8 * len(windowed)))
        return float(np.fft.rfftfreq(8 * len(windowed), 1 / self.rate_hz)[int(np.argmax(spectrum))])


async def listen(page: Page, *, last_s: float = 0.15) -> Sound:
    """Forget what was heard and hear `last_s` afresh."""
    await page.wait_for_function("window.__tapReady")
    await page.evaluate("() => { window.__pcm.length = 0; }")
    rate = await page.evaluate("window.__rate")
    rate, text = await page.evaluate(_TAKE, int(rate * last_s))
    return Sound(samples=np.frombuffer(base64.b64decode(text), "<f4"), rate_hz=rate)


async def heard_of(page: Page) -> Sound:
    """Everything heard since `window.__pcm` was last emptied."""
    rate, text = await page.evaluate(_TAKE, 1)
    return Sound(samples=np.frombuffer(base64.b64decode(text), "<f4"), rate_hz=rate)
