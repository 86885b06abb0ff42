/** Where a club strikes a ball in the sound of a clip: a click that is far louder, high up, than what was just before. */

export interface Strike {
  /** From the beginning of the clip. */
  readonly tS: number;
  /** How many times the sound just before. */
  readonly ratio: number;
}

const HOP_S = 0.002;
/** What came before is the middle of so long. */
const BEFORE_S = 0.12;
/** A clap of the hands or another club's strike stands further away than this. */
const APART_S = 0.3;
const LEAST_RATIO = 8;
const MOST = 6;
/** A recorder's own noise, so that a click after digital silence does not count without measure. */
const FLOOR = 1e-4;

/** The likeliest strikes of mono samples in -1..1, strongest first. */
export function strikes(samples: Float32Array, rateHz: number): Strike[] {
  const hop = Math.max(1, Math.round(rateHz * HOP_S));
  const levels = highLevels(samples, hop);
  const nBefore = Math.round(BEFORE_S / HOP_S);
  const before = middlesBefore(levels, nBefore);
  const ratios = levels.map((level, i) => level / (FLOOR + (before[i] ?? 0)));
  const found: Strike[] = [];
  const order = ratios.map((ratio, i) => ({ ratio, i })).filter(({ ratio, i }) => i >= nBefore / 4 && ratio >= LEAST_RATIO);
  order.sort((a, b) => b.ratio - a.ratio || a.i - b.i);
  for (const { ratio, i } of order) {
    const tS = (onset(ratios, i) * hop) / rateHz;
    if (found.every((one) => Math.abs(one.tS - tS) >= APART_S)) found.push({ tS, ratio });
    if (found.length === MOST) break;
  }
  return found;
}

/** The first of the hops that rise to a peak: what is loudest comes a little after what began it. */
function onset(ratios: readonly number[], peak: number): number {
  let first = peak;
  while (first > 0 && (ratios[first - 1] ?? 0) >= LEAST_RATIO / 2) first -= 1;
  return first;
}

/** Root mean square of the change from sample to sample, by hops: wind and voices lie low, a strike lies high. */
function highLevels(samples: Float32Array, hop: number): number[] {
  const levels: number[] = [];
  for (let start = 0; start + hop <= samples.length; start += hop) {
    let sum = 0;
    for (let i = Math.max(1, start); i < start + hop; i += 1) sum += ((samples[i] ?? 0) - (samples[i - 1] ?? 0)) ** 2;
    levels.push(Math.sqrt(sum / hop));
  }
  return levels;
}

/** For each value the middle one of the `n` before it; they are kept in order from one to the next, since a clip has many. */
function middlesBefore(values: readonly number[], n: number): number[] {
  const sorted: number[] = [];
  return values.map((value, i) => {
    const middle = sorted[sorted.length >> 1] ?? 0;
    sorted.splice(placeIn(sorted, value), 0, value);
    const old = values[i - n];
    if (old !== undefined) sorted.splice(placeIn(sorted, old), 1);
    return middle;
  });
}

/** The first place in ascending values that is not below this one. */
function placeIn(sorted: readonly number[], value: number): number {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const half = (low + high) >> 1;
    if ((sorted[half] ?? Infinity) < value) low = half + 1;
    else high = half;
  }
  return low;
}

/** The sound of a video file as one channel. Raises when the browser cannot read it. */
export async function soundOf(file: Blob): Promise<{ samples: Float32Array; rateHz: number }> {
  const context = new OfflineAudioContext(1, 1, 48_000);
  const sound = await context.decodeAudioData(await file.arrayBuffer());
  const samples = new Float32Array(sound.length);
  for (let channel = 0; channel < sound.numberOfChannels; channel += 1) {
    const values = sound.getChannelData(channel);
    for (let i = 0; i < values.length; i += 1) samples[i] = (samples[i] ?? 0) + (values[i] ?? 0) / sound.numberOfChannels;
  }
  return { samples, rateHz: sound.sampleRate };
}
