/** What keeps the pair from being heard, as one text: what is said of both is said once, and of the computer without their names. */
import { PAIR, ROLE_WORDS, bothWords } from '../words/sensors';
import type { LinkReason, SensorView } from '../wire/types.gen';

const OF_THE_MACHINE: ReadonlySet<LinkReason> = new Set(['adapter_off', 'no_adapter', 'service_off', 'permission_denied', 'adapter_stuck']);

export function linkTrouble(sensors: readonly SensorView[]): string {
  const troubled = sensors.filter((sensor) => PAIR.includes(sensor.role) && sensor.advice !== '');
  const [first, second] = troubled;
  if (!first) return '';
  if (second?.advice !== first.advice) return troubled.map((sensor) => `${ROLE_WORDS[sensor.role]}: ${sensor.advice}`).join(' ');
  return OF_THE_MACHINE.has(first.reason) ? first.advice : `${bothWords(first.role, second.role)}: ${first.advice}`;
}
