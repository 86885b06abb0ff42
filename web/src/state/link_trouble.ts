/** What keeps the pair from being heard, as one text: each says what is wrong with it, and what both say is said once. */
import { PAIR, ROLE_WORDS } from '../words/sensors';
import type { SensorView } from '../wire/types.gen';

export function linkTrouble(sensors: readonly SensorView[]): string {
  const troubled = sensors.filter((sensor) => PAIR.includes(sensor.role) && sensor.advice !== '');
  const [first] = troubled;
  if (!first) return '';
  if (troubled.length > 1 && troubled.every((sensor) => sensor.advice === first.advice)) return first.advice;
  return troubled.map((sensor) => `${ROLE_WORDS[sensor.role]}: ${sensor.advice}`).join(' ');
}
