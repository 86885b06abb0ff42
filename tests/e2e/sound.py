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
  // How long it has been silent, and whether anything sounded before that, of what was heard since it was forgotten.
  window.__silence = () => {
    let [quiet, sounded] = [0, false];
    for (const chunk of window.__pcm) {
      for (const x of chunk) {
        if (Math.abs(x) > 0.001) [quiet, sounded] = [0, true];
        else quiet += 1;
      }
    }
    return { s: quiet / window.__rate, sounded };
  };
})();
"""

_TAKE = r"""
(more) => new Promise((resolve) => {
  const count = () => window.__pcm.reduce((sum, chunk) => sum + chunk.length, 0);
  const enough = count() + more;
  const poll = () => {
    const n = count();
    if (n < enough) return setTimeout(poll, 20);
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

_HUSHED = r"""
() => {
  if (window.__silence().s < 0.3) return false;
  window.__pcm.length = 0;
  return true;
}
"""

_SOUNDED = "() => { const silence = window.__silence(); return silence.sounded && silence.s > 0.35; }"

_NOTHING_NEW = r"""
() => {
  const silent = window.__before && !window.__silence().sounded;
  window.__before = true;
  window.__pcm.length = 0;
  return silent;
}
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
    return await heard_of(page, more_s=last_s)


async def hush(page: Page) -> None:
    """Wait until nothing has sounded for 0.3 s, and forget what was heard, in one moment however slow the machine is."""
    await page.wait_for_function("window.__tapReady")
    await page.wait_for_function(_HUSHED)


async def stays_silent(page: Page) -> None:
    """Wait for 0.2 s in which nothing sounds, whether the sound device runs on or not."""
    await page.wait_for_function(_NOTHING_NEW, polling=200)


async def sounded(page: Page) -> Sound:
    """Everything heard since the last `hush`, once something has sounded and 0.35 s have passed without a sound."""
    await page.wait_for_function(_SOUNDED)
    return await heard_of(page)


async def heard_of(page: Page, *, more_s: float = 0.0) -> Sound:
    """Everything heard since `window.__pcm` was last emptied, and what is heard in the next `more_s`."""
    rate = await page.evaluate("window.__rate")
    rate, text = await page.evaluate(_TAKE, int(rate * more_s))
    return Sound(samples=np.frombuffer(base64.b64decode(text), "<f4"), rate_hz=rate)
