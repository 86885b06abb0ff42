/** The small print: which program this is, and how well it and the page understand each other. */

const some = (n: number, one: string, many: string): string => `${n} ${n === 1 ? one : many}`;

export function programWords(version: string, source: string, roundTripMs: number | null): string {
  const answers = roundTripMs === null ? '' : `, answers in ${Math.max(1, Math.round(roundTripMs))} ms`;
  return `Pitchbend ${version}. ${source}${answers}.`;
}
export function recordedIn(path: string): string {
  return `This practice is being recorded in ${path}.`;
}
export function malformedWords(n: number): string {
  return `${some(n, 'message', 'messages')} from the server could not be read and ${n === 1 ? 'was' : 'were'} left out.`;
}
export function unknownWords(n: number): string {
  return `${some(n, 'message', 'messages')} of a kind this page does not know ${n === 1 ? 'was' : 'were'} left out; reload the page if Pitchbend was updated.`;
}
export function skippedWords(n: number): string {
  return `${some(n, 'reading', 'readings')} skipped to keep up.`;
}
