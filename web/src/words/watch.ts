/** The choice of a practice, for who only looks on. */
export const WATCH_TITLE = 'Practices';
export function watchedWords(name: string, others: number): string {
  const more = `${others} ${others === 1 ? 'other' : 'others'}`;
  return name ? `You watch ${name}. ${more} here.` : 'Choose a practice to watch.';
}
