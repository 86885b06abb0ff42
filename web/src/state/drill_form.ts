/** A drill as the editor holds it, and as the text that the server reads: keys as in shared/drills/README.md. */
import type { BlockForm, DrillFormMessage, Quantity, QuantityForm } from '../wire/types.gen';

/** An emptied number field is null: its key is left out, and the server says whether it may be. */
export interface DrillForm {
  name: string;
  aim: string;
  feel: string;
  quantity: Quantity;
  from: string;
  to: string;
  low: number | null;
  high: number | null;
  hysteresis: number | null;
  warn: number | null;
  blocks: { reps: number | null; cue: BlockForm['cue'] }[];
}

export function formOf(message: DrillFormMessage): DrillForm {
  const { name, aim, feel, quantity, low, high, hysteresis, warn, marks } = message;
  // A quantity of the whole swing has no marks; another one chosen in its stead begins with the way back.
  const [from, to] = [message.from_mark ?? marks[0] ?? '', message.to_mark ?? marks.at(-2) ?? ''];
  return { name, aim, feel, quantity, from, to, low, high, hysteresis, warn, blocks: message.blocks.map((block) => ({ ...block })) };
}

/** A TOML basic string has the escapes of JSON. A line break in a field is a space. */
function quoted(words: string): string {
  return JSON.stringify(words.replace(/\s*\n\s*/g, ' ').trim());
}

export function textOf(form: DrillForm, chosen: QuantityForm): string {
  const lines = [`name = ${quoted(form.name)}`, `aim = ${quoted(form.aim)}`, `feel = ${quoted(form.feel)}`, `quantity = ${quoted(chosen.name)}`];
  if (chosen.counted_from !== null) lines.push(`counted_from = ${quoted(chosen.counted_from)}`);
  if (!chosen.at_end) lines.push(`from = ${quoted(form.from)}`, `to = ${quoted(form.to)}`);
  const numbers = chosen.at_end ? (['low', 'high'] as const) : (['low', 'high', 'hysteresis', 'warn'] as const);
  for (const key of numbers) if (form[key] !== null) lines.push(`${key}${chosen.suffix} = ${form[key]}`);
  for (const { reps, cue } of form.blocks) {
    lines.push('', '[[blocks]]');
    if (reps !== null) lines.push(`reps = ${reps}`);
    lines.push(`cue = ${quoted(cue)}`);
  }
  return lines.join('\n') + '\n';
}

/** Which field of the form a key of the file stands in: `low_deg` in `low`, `counted_from` in `quantity`. */
export function fieldOf(key: string): string {
  return key === 'counted_from' ? 'quantity' : key.replace(/_(deg|s)$/, '');
}

/** A file's name out of a headline: small letters, digits and single hyphens. */
export function idOf(name: string): string {
  const plain = name.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
  return plain.replace(/[^a-z0-9]+/g, '-').slice(0, 50).replace(/^-+|-+$/g, '');
}
