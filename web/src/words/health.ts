/** The page on how the sensors send. */
import type { HealthView, LossView, SensorView, TapeView } from '../wire/types.gen';
import { minus, NO_VALUE } from './common';
import { reasonWords } from './sensors';

export const HEALTH_TITLE = 'How the sensors send';
export const HEALTH_INTRO = 'Figures of this moment, renewed twice a second. A diamond marks what needs you; what to do stands above the figures.';
export const HEALTH_EMPTY = 'No sensor has reported yet. Switch both on and bring them near; their figures appear here.';
export type HealthFigure = 'rate' | 'loss' | 'late' | 'clock' | 'battery' | 'signal' | 'saturated' | 'odd' | 'drops';

/** The figures of a sensor, and what each means to a player. */
export const HEALTH_WORDS: Readonly<Record<HealthFigure, { readonly label: string; readonly meaning: string }>> = {
  rate: { label: 'Samples a second', meaning: 'How often the sensor tells its motion. Near what it is made for is well.' },
  loss: { label: 'Lost of late', meaning: 'What the radio lost. Up to 2 % does little harm; a swing with a hole in it is not judged.' },
  late: { label: 'Late, 95 of 100', meaning: 'How long packets lie on the way, and the sound with them. Below 60 ms is well.' },
  clock: { label: 'Clock fit', meaning: 'How closely its time is known against the other sensor’s. Below 10 ms is well; a drift up to 100 millionths is usual.' },
  battery: { label: 'Battery', meaning: 'Charge below 15 %.' },
  signal: { label: 'Signal', meaning: 'Nearer to 0 is stronger: −50 is close by, below −85 it is about to be lost.' },
  saturated: { label: 'Too fast to measure', meaning: 'Time in which the motion outran the sensor.' },
  odd: { label: 'Twice or unreadable', meaning: 'Packets that came again, after later ones, or made no sense. They are left out.' },
  drops: { label: 'Links lost', meaning: 'How often the radio link broke. It is made anew by itself.' }
};

/** Minutes and seconds of the practice, as one finds them again in a recording. */
export function atWords(seconds: number): string {
  const tenths = Math.round(seconds * 10);
  return `${Math.floor(tenths / 600)}:${((tenths % 600) / 10).toFixed(1).padStart(4, '0')}`;
}

/** A figure as it is shown, and what is said beside it, smaller. */
type Told = readonly [value: string, note: string];

export function figureWords(sensor: SensorView, health: HealthView): Record<HealthFigure, Told> {
  const told: Record<HealthFigure, Told> = {
    rate: [`${Math.round(sensor.rate_hz)}`, rateNote(health)],
    loss: [share(health.recent), `${packets(health.recent)} in the last 10 s; ${share(health.overall)}, ${packets(health.overall)} in all`],
    late: lateWords(health),
    clock: clockWords(health),
    battery: [sensor.battery_pct === null ? 'not told' : `${sensor.battery_pct} %`, batteryNote(health)],
    signal: signalWords(health),
    saturated: [`${health.saturated_s.toFixed(1)} s`, ''],
    odd: [`${health.n_duplicates + sensor.n_malformed}`, `${health.n_duplicates} twice or too late, ${sensor.n_malformed} unreadable, began anew ${times(health.n_restarts)}`],
    drops: [`${health.n_drops}`, health.drops.map((drop) => `${atWords(drop.at_s)} ${reasonWords(drop.reason)}, ${drop.back_s === null ? 'not back yet' : `back after ${(drop.back_s - drop.at_s).toFixed(1)} s`}`).join('; ')]
  };
  for (const key of Object.keys(told) as HealthFigure[]) told[key] = [told[key][0], sentence(told[key][1])];
  return told;
}

function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function share(loss: LossView): string {
  const pct = loss.lost_pct;
  if (loss.n_lost === null) return 'unknown';
  if (pct === null) return NO_VALUE;
  return pct === 0 ? '0 %' : pct < 0.1 ? '<0.1 %' : `${pct.toFixed(1)} %`;
}

function packets(loss: LossView): string {
  const lost = loss.n_packets_lost;
  return lost === null ? `${loss.n_packets} packets came, what is lost cannot be seen` : `${lost} of ${loss.n_packets + lost} packets`;
}

function rateNote(health: HealthView): string {
  const parts = [];
  if (health.device_rate_hz !== null) parts.push(`${health.device_rate_hz.toFixed(1)} by its own clock`);
  if (health.nominal_rate_hz !== null) parts.push(`made for ${Math.round(health.nominal_rate_hz)}`);
  return parts.join(', ');
}

function lateWords(health: HealthView): Told {
  const jitter = health.jitter;
  if (!jitter) return [NO_VALUE, ''];
  return [`${Math.round(jitter.p95_ms)} ms`, `half within ${Math.round(jitter.p50_ms)} ms, 99 of 100 within ${Math.round(jitter.p99_ms)} ms`];
}

function clockWords(health: HealthView): Told {
  const clock = health.clock;
  if (!clock) return [NO_VALUE, ''];
  const drift = clock.drift_ppm === null ? 'drift known after 20 s' : `drifts ${minus(clock.drift_ppm.toFixed(0))} millionths`;
  return [`± ${clock.spread_ms.toFixed(1)} ms`, `${drift}; from the last ${Math.round(clock.span_s)} s, newest ${clock.age_s.toFixed(1)} s ago`];
}

function batteryNote(health: HealthView): string {
  if (health.battery_pct_per_hour === null) return '';
  const trend = minus(`${Math.round(health.battery_pct_per_hour)} % an hour`);
  return health.battery_hours_left === null ? trend : `${trend}, ${health.battery_hours_left.toFixed(1)} h left`;
}

function signalWords(health: HealthView): Told {
  if (health.rssi_dbm === null) return ['not told', 'this computer, or this recording, does not say'];
  const age = health.rssi_age_s ?? 0;
  return [minus(`${health.rssi_dbm} dBm`), `when it was connected, ${age < 120 ? `${Math.round(age)} s` : `${Math.round(age / 60)} min`} ago`];
}

function times(n: number): string {
  return n === 0 ? 'never' : n === 1 ? 'once' : `${n} times`;
}

export const LOOK_HERE = 'Look here:';
export const WORST_TITLE = 'Worst stretches of this practice';
export const WORST_COLUMNS: readonly string[] = ['at', 'for', 'samples lost', 'longest wait'];
export function secondsWords(seconds: number, digits: number): string {
  return `${seconds.toFixed(digits)} s`;
}
export const OLD_SERVER = 'No more is known: Pitchbend on your computer is of an older version.';

export const TAPE_TITLE = 'Recording';
export const TAPE_RUNS = 'running';
export const TAPE_STOPPED = 'stopped';
export function tapeWords(tape: TapeView): string {
  const file = tape.n_files > 1 ? `, file ${tape.n_files} of this practice` : '';
  if (tape.minutes_left === null) return `${tape.size_mb.toFixed(1)} MB${file}.`;
  return `${tape.size_mb.toFixed(1)} MB${file}; the disk has room for ${tape.minutes_left > 600 ? 'more than ten hours' : `${Math.round(tape.minutes_left)} min`}.`;
}
export function heldWords(seconds: number): string {
  return `${seconds.toFixed(0)} s of practice wait in memory for a place to be written to.`;
}
export function missedWords(n: number): string {
  return `${n} entries could not be kept.`;
}
