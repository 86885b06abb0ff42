/**
 * The cue as a graph of Web Audio nodes: one voice that is always running and is opened and shut by an envelope.
 *
 * Rule 1: every change is a short exponential glide from wherever the value is, so nothing clicks.
 * Rule 2: there is a single voice, and its last gain never exceeds `CEILING`: two sounds cannot add up to more.
 * Rule 3: times are given, never read, so that the same graph renders sample by sample in an OfflineAudioContext.
 */
import { SIGNALS, type Signal } from './signals';
import { ABOVE_HZ, BELOW_HZ, cueHz } from './tone';

/** Largest sample the cue can produce; the ear must stay free for the others on the range. */
export const CEILING = 0.25;
/** The envelope is 95 % there after this long. */
export const RAMP_S = 0.008;
const RAMP_TAU_S = RAMP_S / 3;
const BEND_TAU_S = 0.012;
/** The short tone that answers the tap. */
const BLIP_HZ = 495;
const BLIP_S = 0.09;
const BLIP_LEVEL = 0.7;
/** Two rising notes for a good rep, in the gap between the two registers of the cue. */
const CHIME_HZ = [392, 587] as const;
const CHIME_NOTE_S = 0.11;
const CHIME_S = 0.3;
const CHIME_LEVEL = 0.6;
const SIGNAL_LEVEL = 0.9;
/** Near the edge of the band: too short to have a pitch of its own, softer than the cue. */
const TICK_HZ = 1320;
const TICK_S = 0.012;
const TICK_LEVEL = 0.4;
/** What a whole swing was, told apart like the cue, low and falling or high and rising, and by length: short, or long. */
const ENDS = {
  below: { hz: [BELOW_HZ, BELOW_HZ / 2], lengthS: 0.16 },
  above: { hz: [ABOVE_HZ, 1.5 * ABOVE_HZ], lengthS: 0.45 }
} as const;
const END_LEVEL = 0.7;
/** A little of the octave and the twelfth: a phone's loudspeaker hardly gives the low register's own fundamental. */
const PARTIALS = [0, 1, 0.45, 0.3, 0.15];

export interface Cue {
  /** Sound, or fall silent, for an error in degrees (negative below the band). */
  follow(sounding: boolean, errorDeg: number, atS: number): void;
  /** The confirming tone; dropped when a cue starts meanwhile. */
  blip(atS: number): void;
  /** The end of a good rep; the same goes for it. */
  chime(atS: number): void;
  /** A signal of the set-up; the same goes for it. */
  signal(name: Signal, atS: number): void;
  /** The quantity has come near the edge; dropped while the cue sounds. */
  tick(atS: number): void;
  /** A whole swing was too short or quick, or too long or slow; the same goes for it. */
  end(side: 'below' | 'above', atS: number): void;
  /** 0..1, of the ceiling. */
  setVolume(volume: number, atS: number): void;
}

export function buildCue(context: BaseAudioContext, volume: number): Cue {
  const voice = context.createOscillator();
  const envelope = context.createGain();
  const level = context.createGain();
  voice.setPeriodicWave(context.createPeriodicWave(new Float32Array(PARTIALS.length), Float32Array.from(PARTIALS)));
  voice.frequency.value = ABOVE_HZ;
  envelope.gain.value = 0;
  level.gain.value = gainFor(volume);
  voice.connect(envelope).connect(level).connect(context.destination);
  voice.start();

  let open = false;
  let heldDeg = 0;
  return {
    follow(sounding, errorDeg, atS) {
      if (sounding && (!open || errorDeg !== heldDeg)) {
        const hz = cueHz(errorDeg);
        // From silence there is nothing to glide from: start on the note itself.
        if (open) voice.frequency.setTargetAtTime(hz, atS, BEND_TAU_S);
        else {
          voice.frequency.cancelScheduledValues(atS);
          voice.frequency.setValueAtTime(hz, atS);
        }
        heldDeg = errorDeg;
      }
      if (sounding === open) return;
      open = sounding;
      envelope.gain.cancelScheduledValues(atS);
      envelope.gain.setTargetAtTime(sounding ? 1 : 0, atS, RAMP_TAU_S);
    },
    blip(atS) {
      if (open) return;
      voice.frequency.cancelScheduledValues(atS);
      voice.frequency.setValueAtTime(BLIP_HZ, atS);
      envelope.gain.setTargetAtTime(BLIP_LEVEL, atS, RAMP_TAU_S);
      envelope.gain.setTargetAtTime(0, atS + BLIP_S, RAMP_TAU_S);
    },
    chime(atS) {
      if (open) return;
      voice.frequency.cancelScheduledValues(atS);
      voice.frequency.setValueAtTime(CHIME_HZ[0], atS);
      voice.frequency.setTargetAtTime(CHIME_HZ[1], atS + CHIME_NOTE_S, BEND_TAU_S);
      envelope.gain.cancelScheduledValues(atS);
      envelope.gain.setTargetAtTime(CHIME_LEVEL, atS, RAMP_TAU_S);
      envelope.gain.setTargetAtTime(0, atS + CHIME_S, RAMP_TAU_S);
    },
    signal(name, atS) {
      if (open) return;
      voice.frequency.cancelScheduledValues(atS);
      envelope.gain.cancelScheduledValues(atS);
      for (const note of SIGNALS[name]) {
        voice.frequency.setValueAtTime(note.hz, atS + note.fromS);
        envelope.gain.setTargetAtTime(SIGNAL_LEVEL, atS + note.fromS, RAMP_TAU_S);
        envelope.gain.setTargetAtTime(0, atS + note.fromS + note.lengthS, RAMP_TAU_S);
      }
    },
    tick(atS) {
      if (open) return;
      voice.frequency.cancelScheduledValues(atS);
      voice.frequency.setValueAtTime(TICK_HZ, atS);
      envelope.gain.cancelScheduledValues(atS);
      envelope.gain.setTargetAtTime(TICK_LEVEL, atS, RAMP_TAU_S);
      envelope.gain.setTargetAtTime(0, atS + TICK_S, RAMP_TAU_S);
    },
    end(side, atS) {
      if (open) return;
      const { hz, lengthS } = ENDS[side];
      voice.frequency.cancelScheduledValues(atS);
      voice.frequency.setValueAtTime(hz[0], atS);
      voice.frequency.setTargetAtTime(hz[1], atS + 0.3 * lengthS, lengthS / 4);
      envelope.gain.cancelScheduledValues(atS);
      envelope.gain.setTargetAtTime(END_LEVEL, atS, RAMP_TAU_S);
      envelope.gain.setTargetAtTime(0, atS + lengthS, RAMP_TAU_S);
    },
    setVolume(next, atS) {
      level.gain.setTargetAtTime(gainFor(next), atS, RAMP_TAU_S);
    }
  };
}

/** Squared, because the ear hears ratios; never above the ceiling whatever comes in. */
function gainFor(volume: number): number {
  const clamped = Number.isFinite(volume) ? Math.min(Math.max(volume, 0), 1) : 0;
  return CEILING * clamped ** 2;
}
