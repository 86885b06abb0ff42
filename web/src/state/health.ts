/** A sensor's figures as rows of text: what it is, how much, what it means, and whether it is bad. */
import { HEALTH_WORDS, NO_VALUE, reasonWords, type HealthFigure } from '../labels';
import type { HealthTrouble, HealthView, LossView, SensorView } from '../wire/types.gen';

export interface HealthRow {
  readonly key: HealthFigure;
  readonly label: string;
  readonly value: string;
  /** Beside the value, smaller. */
  readonly note: string;
  readonly meaning: string;
  readonly bad: boolean;
}

const TROUBLES: Readonly<Record<HealthFigure, readonly HealthTrouble[]>> = {
  rate: ['rate'],
  loss: ['loss'],
  late: ['late'],
  clock: ['clock'],
  battery: ['battery'],
  signal: ['signal'],
  saturated: ['saturated'],
  odd: ['unreadable', 'duplicates', 'restarts'],
  drops: ['drops']
};

/** Minutes and seconds of the practice, as one finds them again in a recording. */
export function atWords(seconds: number): string {
  const tenths = Math.round(seconds * 10);
  return `${Math.floor(tenths / 600)}:${((tenths % 600) / 10).toFixed(1).padStart(4, '0')}`;
}

export function healthRows(sensor: SensorView, health: HealthView): HealthRow[] {
  const bad = new Set(health.advice.map((one) => one.trouble));
  const rows: Record<HealthFigure, readonly [value: string, note: string]> = {
    rate: [`${Math.round(sensor.rate_hz)}`, rateNote(health)],
    loss: [share(health.recent), `${packets(health.recent)} in the last 10 s; ${share(health.overall)}, ${packets(health.overall)} in all`],
    late: lateWords(health),
    clock: clockWords(health),
    battery: [sensor.battery_pct === null ? 'not told' : `${sensor.battery_pct} %`, batteryNote(health)],
    signal: signalWords(health),
    saturated: [`${health.saturated_s.toFixed(1)} s`, ''],
    odd: [`${health.n_duplicates + sensor.n_malformed}`, `${health.n_duplicates} twice, ${sensor.n_malformed} unreadable, began anew ${times(health.n_restarts)}`],
    drops: [`${health.n_drops}`, health.drops.map((drop) => `${atWords(drop.at_s)} ${reasonWords(drop.reason)}, ${drop.back_s === null ? 'not back yet' : `back after ${(drop.back_s - drop.at_s).toFixed(1)} s`}`).join('; ')]
  };
  return (Object.keys(rows) as HealthFigure[]).map((key) => ({
    key,
    ...HEALTH_WORDS[key],
    value: rows[key][0],
    note: sentence(rows[key][1]),
    bad: TROUBLES[key].some((trouble) => bad.has(trouble))
  }));
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

function lateWords(health: HealthView): readonly [string, string] {
  const jitter = health.jitter;
  if (!jitter) return [NO_VALUE, ''];
  return [`${Math.round(jitter.p95_ms)} ms`, `half within ${Math.round(jitter.p50_ms)} ms, 99 of 100 within ${Math.round(jitter.p99_ms)} ms`];
}

function clockWords(health: HealthView): readonly [string, string] {
  const clock = health.clock;
  if (!clock) return [NO_VALUE, ''];
  const drift = clock.drift_ppm === null ? 'drift known after 20 s' : `drifts ${clock.drift_ppm.toFixed(0).replace('-', '−')} millionths`;
  return [`± ${clock.spread_ms.toFixed(1)} ms`, `${drift}; from the last ${Math.round(clock.span_s)} s, newest ${clock.age_s.toFixed(1)} s ago`];
}

function batteryNote(health: HealthView): string {
  if (health.battery_pct_per_hour === null) return '';
  const trend = `${Math.round(health.battery_pct_per_hour)} % an hour`.replace('-', '−');
  return health.battery_hours_left === null ? trend : `${trend}, ${health.battery_hours_left.toFixed(1)} h left`;
}

function signalWords(health: HealthView): readonly [string, string] {
  if (health.rssi_dbm === null) return ['not told', 'this computer, or this recording, does not say'];
  const age = health.rssi_age_s ?? 0;
  return [`${health.rssi_dbm} dBm`.replace('-', '−'), `when it was connected, ${age < 120 ? `${Math.round(age)} s` : `${Math.round(age / 60)} min`} ago`];
}

function times(n: number): string {
  return n === 0 ? 'never' : n === 1 ? 'once' : `${n} times`;
}
