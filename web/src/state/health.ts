/** A sensor's figures as rows of text: what it is, how much, what it means, and whether it is bad. */
import { HEALTH_WORDS, figureWords, type HealthFigure } from '../words/health';
import type { HealthTrouble, HealthView, SensorView } from '../wire/types.gen';

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

export function healthRows(sensor: SensorView, health: HealthView): HealthRow[] {
  const bad = new Set(health.advice.map((one) => one.trouble));
  const figures = figureWords(sensor, health);
  return (Object.keys(figures) as HealthFigure[]).map((key) => ({
    key,
    ...HEALTH_WORDS[key],
    value: figures[key][0],
    note: figures[key][1],
    bad: TROUBLES[key].some((trouble) => bad.has(trouble))
  }));
}
